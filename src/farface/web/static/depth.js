// @ts-check
/** Turn a depth map about: sliders, keys or dragging; the band's ends are the same map times a share. */

import { COLOURS, Surface } from "./depth-surface.js";

const RELIEF_SHARE = 0.16; // of the part's width, to which the deepest place is stretched

class FarfaceDepth extends HTMLElement {
  connectedCallback() {
    this.canvas = /** @type {HTMLCanvasElement} */ (this.querySelector(".ground canvas"));
    this.words = /** @type {HTMLOutputElement} */ (this.querySelector(".depth-words"));
    this.row = 0;
    for (const name of ["turn", "tilt", "band"]) this.field(name).addEventListener("input", () => this.draw());
    document.addEventListener("farface:cut", (event) => {
      this.row = /** @type {CustomEvent} */ (event).detail;
      this.draw();
    });
    window.addEventListener("resize", () => this.draw());
    this.canvas.addEventListener("pointerdown", (event) => this.canvas?.setPointerCapture(event.pointerId));
    this.canvas.addEventListener("pointermove", (event) => this.dragged(event));
    this.paintKey();
    this.load();
  }

  /** @param {string} name @returns {HTMLInputElement} */
  field(name) {
    return /** @type {HTMLInputElement} */ (this.querySelector(`#${name}`));
  }

  async load() {
    try {
      const answer = await fetch(/** @type {string} */ (this.getAttribute("src")));
      if (!answer.ok) return this.say("The map could not be read. Plan the part again.");
      [this.rows, this.columns] = (answer.headers.get("x-shape") ?? "0,0").split(",").map(Number);
      this.cell = Number(answer.headers.get("x-cell-m"));
      this.depths = new Float32Array(await answer.arrayBuffer());
    } catch {
      document.dispatchEvent(new Event("farface:lost"));
      return;
    }
    this.deepest = this.depths.reduce((most, depth) => Math.max(most, depth), 1e-9);
    const shares = { low: Number(this.getAttribute("low")), high: Number(this.getAttribute("high")) };
    document.dispatchEvent(new CustomEvent("farface:depths", { detail: { depths: this.depths, rows: this.rows, columns: this.columns, cell: this.cell, ...shares } }));
    try {
      this.surface = new Surface(/** @type {HTMLCanvasElement} */ (this.canvas), this.depths, this.rows, this.columns);
    } catch {
      /** @type {HTMLElement} */ (this.querySelector(".ground")).hidden = true;
      return this.say("This browser cannot draw surfaces; the slice below and the flat picture show the same depths.");
    }
    this.draw();
  }

  /** @param {PointerEvent} event */
  dragged(event) {
    if (!this.canvas?.hasPointerCapture(event.pointerId)) return;
    const [turn, tilt] = [this.field("turn"), this.field("tilt")];
    this.spun = (this.spun ?? Number(turn.value)) + 0.4 * event.movementX;
    this.leant = Math.min(90, Math.max(10, (this.leant ?? Number(tilt.value)) + 0.3 * event.movementY));
    turn.value = String(((((this.spun + 180) % 360) + 360) % 360) - 180);
    tilt.value = String(this.leant);
    this.draw();
  }

  draw() {
    if (!this.surface || this.asked) return;
    this.asked = window.requestAnimationFrame(() => {
      this.asked = 0;
      const share = { low: Number(this.getAttribute("low")), median: 1, high: Number(this.getAttribute("high")) }[this.field("band").value] ?? 1;
      const deepest = (this.deepest ?? 1) * share;
      const highest = (this.deepest ?? 1) * Number(this.getAttribute("high"));
      const relief = Math.max(1, (RELIEF_SHARE * Math.max(this.rows ?? 1, this.columns ?? 1) * (this.cell ?? 1)) / highest);
      const [turn, tilt] = [Number(this.field("turn").value), Number(this.field("tilt").value)];
      this.surface?.draw({ turn, tilt, share, deepest, relief, cell: this.cell ?? 1, cut: this.row ?? 0 });
      const deep = (1e6 * deepest).toPrecision(3);
      /** @type {HTMLElement} */ (this.querySelector(".deepest")).textContent = `${deep} um`;
      this.say(`Deepest ${deep} um here; depths are stretched ${relief.toPrecision(2)} times. The line is the slice below.`);
    });
  }

  paintKey() {
    const key = /** @type {HTMLCanvasElement} */ (this.querySelector(".key"));
    const pen = /** @type {CanvasRenderingContext2D} */ (key.getContext("2d"));
    const fade = pen.createLinearGradient(0, 0, key.width, 0);
    COLOURS.forEach((colour, k) => fade.addColorStop(k / 8, `rgb(${colour.map((part) => Math.round(255 * part)).join(",")})`));
    pen.fillStyle = fade;
    pen.fillRect(0, 0, key.width, key.height);
  }

  /** @param {string} words */
  say(words) {
    /** @type {HTMLOutputElement} */ (this.words).textContent = words;
  }
}

customElements.define("farface-depth", FarfaceDepth);
