// @ts-check
/** Slice a depth map along a row: the median with its band, the far face on top, as the section shows it. */

const SVG = "http://www.w3.org/2000/svg";
const [LEFT, TOP, LOW] = [60, 26, 205];

class FarfaceCut extends HTMLElement {
  connectedCallback() {
    this.svg = /** @type {SVGSVGElement} */ (this.querySelector("svg"));
    this.slider = /** @type {HTMLInputElement} */ (this.querySelector("input"));
    this.right = 985;
    this.slider.addEventListener("input", () => this.draw());
    window.addEventListener("resize", () => this.draw());
    document.addEventListener("farface:depths", (event) => {
      this.map = /** @type {CustomEvent} */ (event).detail;
      this.deepest = this.map.depths.reduce((/** @type {number} */ most, /** @type {number} */ depth) => Math.max(most, depth), 1e-9);
      this.draw();
    });
  }

  draw() {
    if (!this.map) return;
    const { depths, rows, columns, cell, low, high } = this.map;
    const row = Math.round((Number(this.slider?.value) / 100) * (rows - 1));
    const along = depths.subarray(row * columns, (row + 1) * columns);
    const deep = 1.1 * (this.deepest ?? 1) * high;
    // As wide as it is shown, so that words stay legible on a phone.
    this.right = Math.max(380, Math.min(1000, this.clientWidth)) - 15;
    this.svg?.setAttribute("viewBox", `0 0 ${this.right + 15} 250`);
    /** @param {number} k */
    const x = (k) => LEFT + (((this.right ?? 985) - LEFT) * k) / (columns - 1);
    /** @param {number} depth */
    const y = (depth) => TOP + ((LOW - TOP) * depth) / deep;
    /** @param {number} share */
    const line = (share) => Array.from(along, (depth, k) => `${x(k).toFixed(1)} ${y(depth * share).toFixed(1)}`);
    /** @type {SVGSVGElement} */ (this.svg).replaceChildren(
      shape("rect", { x: LEFT, y: TOP, width: this.right - LEFT, height: LOW - TOP, class: "glass" }),
      ...this.ticks(deep, columns * cell, x, y),
      shape("path", { d: `M${line(low).join("L")}L${line(high).reverse().join("L")}Z`, class: "band" }),
      shape("path", { d: `M${line(1).join("L")}`, class: "median" }),
    );
    const most = along.reduce((/** @type {number} */ best, /** @type {number} */ depth) => Math.max(best, depth), 0);
    const um = [1, low, high].map((share) => (1e6 * most * share).toPrecision(3));
    /** @type {HTMLOutputElement} */ (this.querySelector("output")).textContent =
      `Slice at ${(1e3 * row * cell).toFixed(2)} mm from the lowest row: deepest ${um[0]} um (${um[1]} to ${um[2]} um), far face on top.`;
    document.dispatchEvent(new CustomEvent("farface:cut", { detail: row }));
  }

  /** @param {number} deep @param {number} wide @param {(k: number) => number} x @param {(depth: number) => number} y */
  ticks(deep, wide, x, y) {
    const drawn = [text(LEFT, 16, "depth, um"), text(this.right ?? 985, 246, "along the slice, mm", "end")];
    const step = round(1e6 * deep);
    for (let um = 0; um <= 1e6 * deep; um += step) {
      drawn.push(shape("line", { x1: LEFT, x2: this.right ?? 985, y1: y(1e-6 * um), y2: y(1e-6 * um), class: "grid" }));
      drawn.push(text(LEFT - 8, y(1e-6 * um) + 5, String(Number(um.toPrecision(4))), "end"));
    }
    const apart = round(1e3 * wide);
    const columns = this.map.columns - 1;
    for (let mm = 0; mm <= 1e3 * wide * (1 + 1e-9); mm += apart) {
      drawn.push(text(x((1e-3 * mm * columns) / wide), 226, String(Number(mm.toPrecision(4))), "middle"));
    }
    return drawn;
  }
}

/** Give a round step that cuts a range into four or so. @param {number} range */
function round(range) {
  const power = 10 ** Math.floor(Math.log10(range / 4));
  return [1, 2, 5, 10].map((part) => part * power).find((part) => part >= range / 5) ?? 10 * power;
}

/** @param {string} kind @param {Record<string, string | number>} said */
function shape(kind, said) {
  const made = document.createElementNS(SVG, kind);
  for (const [name, value] of Object.entries(said)) made.setAttribute(name, String(value));
  return made;
}

/** @param {number} x @param {number} y @param {string} words */
function text(x, y, words, anchor = "start") {
  const made = shape("text", { x, y, "text-anchor": anchor });
  made.textContent = words;
  return made;
}

customElements.define("farface-cut", FarfaceCut);
