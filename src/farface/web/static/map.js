// @ts-check
/** One map of a window: colours on a canvas, a cursor that mouse, finger and arrow keys move, Enter to pick. */

import { placeAt, placeOf, shareOf } from "./map-data.js";
import { SIDE, paint } from "./map-paint.js";
import { drawFrame, drawMarks, drawPublished, edges } from "./map-frame.js";

/** @typedef {import("./map-data.js").Stack} Stack @typedef {import("./map-data.js").Axes} Axes */
/** @typedef {import("./map-data.js").Quantity} Quantity @typedef {{column: number, row: number}} Place */

const HIGH_SHARE = 0.9;

export class FarfaceMap extends HTMLElement {
  /** @type {Stack | null} */ stack = null;
  /** @type {Axes | null} */ axes = null;
  /** @type {Quantity | null} */ quantity = null;
  /** @type {Place | null} */ cursor = null;
  /** @type {Place | null} */ picked = null;
  /** @type {{low: number, high: number, words: string}[]} */ published = [];
  level = 0;

  connectedCallback() {
    const prior = this.hasAttribute("prior");
    this.innerHTML = '<h2><span></span></h2><canvas tabindex="0" role="application"></canvas>';
    const title = /** @type {HTMLElement} */ (this.querySelector("h2 span"));
    title.textContent = this.getAttribute("name");
    if (prior) {
      const tag = document.createElement("span");
      tag.className = "tag";
      tag.textContent = "not calibrated: prior only";
      title.after(tag);
    }
    this.canvas = /** @type {HTMLCanvasElement} */ (this.querySelector("canvas"));
    this.canvas.setAttribute("aria-label", `${this.getAttribute("name")}: map. Arrow keys move, Enter picks.`);
    this.canvas.setAttribute("aria-describedby", "readout");
    this.image = new ImageData(SIDE, SIDE);
    this.tile = Object.assign(document.createElement("canvas"), { width: SIDE, height: SIDE });
    this.canvas.addEventListener("pointermove", (event) => this.point(this.placeUnder(event)));
    this.canvas.addEventListener("pointerleave", () => this.point(null));
    this.canvas.addEventListener("click", (event) => this.pick(this.placeUnder(event)));
    this.canvas.addEventListener("keydown", (event) => this.key(event));
    this.canvas.addEventListener("focus", () => this.point(this.cursor ?? this.picked ?? { column: 0, row: 0 }));
    new ResizeObserver(() => this.draw()).observe(this);
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.draw());
  }

  /** @param {PointerEvent | MouseEvent} event @returns {Place | null} */
  placeUnder(event) {
    const axes = this.axes;
    if (!axes || !this.canvas) return null;
    const box = this.canvas.getBoundingClientRect();
    const room = edges(this);
    const u = (event.clientX - box.left - room.left) / (box.width - room.left - room.right);
    const v = 1 - (event.clientY - box.top - room.top) / (box.height - room.top - room.bottom);
    if (u < 0 || u > 1 || v < 0 || v > 1) return null;
    return { column: placeAt(axes.x, u), row: placeAt(axes.y, v) };
  }

  /** @param {KeyboardEvent} event */
  key(event) {
    const axes = this.axes;
    const moves = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    const move = moves[/** @type {keyof typeof moves} */ (event.key)];
    if (event.key === "Enter" || event.key === " ") this.pick(this.cursor);
    else if (move && axes) {
      const step = (/** @type {{whole: boolean}} */ axis) => (event.shiftKey ? 4 : 1) * (axis.whole ? 1 : 0.5);
      const from = this.cursor ?? this.picked ?? { column: 0, row: 0 };
      const to = (/** @type {number} */ at, /** @type {number} */ count) => Math.min(Math.max(at, 0), count - 1);
      this.point({
        column: to(from.column + move[0] * step(axes.x), axes.x.values.length),
        row: to(from.row + move[1] * step(axes.y), axes.y.values.length),
      });
    } else return;
    event.preventDefault();
  }

  /** Tell which place is pointed at. @param {Place | null} place */
  point(place) {
    this.cursor = place ?? (document.activeElement === this.canvas ? this.cursor : null);
    this.dispatchEvent(new CustomEvent("map-point", { bubbles: true, detail: this.cursor }));
  }

  /** @param {Place | null} place */
  pick(place) {
    if (place) this.dispatchEvent(new CustomEvent("map-pick", { bubbles: true, detail: place }));
  }

  /** Show the place of the present setting. @param {Axes} axes */
  place(axes) {
    this.axes = axes;
    this.picked = { column: placeOf(axes.x, axes.x.now), row: placeOf(axes.y, axes.y.now) };
  }

  /** Paint anew; called whenever something shown has changed. */
  draw() {
    const { stack, axes, quantity, canvas } = this;
    if (!canvas || !axes || !this.image || !this.tile || !this.isConnected) return;
    const ratio = window.devicePixelRatio || 1;
    const wide = this.clientWidth;
    const high = Math.round(wide * HIGH_SHARE);
    if (canvas.width !== Math.round(wide * ratio)) {
      canvas.width = Math.round(wide * ratio);
      canvas.height = Math.round(high * ratio);
      canvas.style.height = `${high}px`;
    }
    const context = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
    context.setTransform(ratio, 0, 0, ratio, 0, 0);
    context.clearRect(0, 0, wide, high);
    const room = edges(this);
    const frame = { left: room.left, top: room.top, wide: wide - room.left - room.right, high: high - room.top - room.bottom };
    if (stack && quantity) {
      const level = stack.levels > 1 ? this.level : 0;
      const layer = quantity.band ? `${quantity.name}-median` : quantity.name;
      const plane = stack.plane(layer, level, quantity.band);
      paint(this.image, stack, plane, stack.plane("reach", Math.round(level), false), quantity, axes.x, axes.y);
      const tile = /** @type {CanvasRenderingContext2D} */ (this.tile.getContext("2d"));
      tile.putImageData(this.image, 0, 0);
      context.imageSmoothingEnabled = false;
      context.drawImage(this.tile, frame.left, frame.top, frame.wide, frame.high);
      drawMarks(context, frame, this, stack.plane("margin-median", level, true));
    }
    const style = getComputedStyle(this);
    drawFrame(context, frame, axes, style);
    drawPublished(context, frame, this, style.getPropertyValue("--ff-ink").trim(), style.getPropertyValue("--ff-paper").trim());
  }

  /** Where a place lies in the frame. @param {{left: number, top: number, wide: number, high: number}} frame @param {number} column @param {number} row */
  pixel(frame, column, row) {
    const { x, y } = /** @type {Axes} */ (this.axes);
    return [frame.left + shareOf(x, column) * frame.wide, frame.top + (1 - shareOf(y, row)) * frame.high];
  }
}

customElements.define("farface-map", FarfaceMap);
