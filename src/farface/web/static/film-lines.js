// @ts-check
/** Lay the face's line and a measured length over a film; every drag writes into number fields beside it. */

const SVG = "http://www.w3.org/2000/svg";

class FarfaceLines extends HTMLElement {
  connectedCallback() {
    this.wide = Number(this.getAttribute("width"));
    this.high = Number(this.getAttribute("height"));
    this.svg = document.createElementNS(SVG, "svg");
    this.svg.setAttribute("viewBox", `0 0 ${this.wide} ${this.high}`);
    this.svg.setAttribute("aria-hidden", "true");
    this.append(this.svg);
    this.face = this.shape("line", "face");
    this.length = this.shape("line", "length");
    this.ends = ["face_left", "face_right"].map((name) => this.handle(name, (_, y) => ({ [name]: y })));
    this.marks = ["a", "b"].map((end) => this.handle(end, (x, y) => ({ [`mark_${end}_column`]: x, [`mark_${end}_row`]: y })));
    for (const name of ["face_left", "face_right", "mark_a_column", "mark_a_row", "mark_b_column", "mark_b_row", "mark_length"]) {
      this.field(name).addEventListener("input", () => this.changed(name));
    }
    this.measuring = /** @type {HTMLDetailsElement} */ (document.querySelector("details.measure"));
    this.measuring.addEventListener("toggle", () => this.draw());
    this.turned = /** @type {HTMLInputElement} */ (document.querySelector("[name=glass_below]"));
    this.turned.addEventListener("change", () => this.turn());
    this.draw();
  }

  /** @param {string} name @returns {HTMLInputElement} */
  field(name) {
    return /** @type {HTMLInputElement} */ (document.querySelector(`[name=${name}]`));
  }

  /** @param {string} name */
  value(name) {
    const typed = this.field(name).value;
    return typed === "" ? NaN : Number(typed);
  }

  /** @param {string} kind @param {string} look */
  shape(kind, look) {
    const made = document.createElementNS(SVG, kind);
    made.setAttribute("class", look);
    /** @type {SVGSVGElement} */ (this.svg).append(made);
    return made;
  }

  /** Make a handle that can be dragged; what it stands for is written into fields.
   * @param {string} name @param {(x: number, y: number) => Record<string, number>} write */
  handle(name, write) {
    const made = this.shape("circle", `handle ${name}`);
    made.setAttribute("r", String(Math.max(4, (this.wide ?? 320) / 60)));
    made.addEventListener("pointerdown", (event) => {
      const pressed = /** @type {PointerEvent} */ (event);
      pressed.preventDefault();
      made.setPointerCapture(pressed.pointerId);
    });
    made.addEventListener("pointermove", (event) => {
      const moved = /** @type {PointerEvent} */ (event);
      if (!made.hasPointerCapture(moved.pointerId)) return;
      const box = /** @type {SVGSVGElement} */ (this.svg).getBoundingClientRect();
      const x = ((moved.clientX - box.left) / box.width) * (this.wide ?? 1) - 0.5;
      const y = ((moved.clientY - box.top) / box.height) * (this.high ?? 1) - 0.5;
      for (const [field, value] of Object.entries(write(this.inside(x, this.wide ?? 1), this.inside(y, this.high ?? 1)))) {
        this.field(field).value = String(value);
        this.changed(field);
      }
    });
    return made;
  }

  /** Keep a pixel in the picture, to a tenth. @param {number} at @param {number} count */
  inside(at, count) {
    return Math.round(10 * Math.min(count - 1, Math.max(0, at))) / 10;
  }

  /** @param {string} name */
  changed(name) {
    if (name.startsWith("mark_")) this.measure();
    this.draw();
  }

  /** Write the measured length as the size of a pixel is typed: a length, and the two points it joins. */
  measure() {
    const [ax, ay, bx, by] = ["mark_a_column", "mark_a_row", "mark_b_column", "mark_b_row"].map((name) => this.value(name));
    const length = this.field("mark_length").value.trim();
    if (length && [ax, ay, bx, by].every(Number.isFinite)) this.field("pixel").value = `${length} = ${ax},${ay} to ${bx},${by}`;
  }

  /** Turn the face's line about with the picture. */
  turn() {
    for (const name of ["face_left", "face_right"]) {
      const row = this.value(name);
      if (Number.isFinite(row)) this.field(name).value = String(Math.round(100 * ((this.high ?? 1) - 1 - row)) / 100);
    }
    this.draw();
    document.dispatchEvent(new Event("farface:turned"));
  }

  draw() {
    const [left, right] = [this.value("face_left"), this.value("face_right")];
    const [ax, ay, bx, by] = ["mark_a_column", "mark_a_row", "mark_b_column", "mark_b_row"].map((name) => this.value(name));
    const edge = (this.wide ?? 1) - 1;
    join(this.face, this.ends, [0, left], [edge, right], Number.isFinite(left + right));
    join(this.length, this.marks, [ax, ay], [bx, by], (this.measuring?.open ?? false) && Number.isFinite(ax + ay + bx + by));
  }
}

/** Draw a line with its two handles, or hide all three.
 * @param {SVGElement | undefined} line @param {SVGElement[] | undefined} handles
 * @param {number[]} start @param {number[]} end @param {boolean} shown */
function join(line, handles, start, end, shown) {
  if (!line || !handles) return;
  for (const one of [line, ...handles]) one.style.display = shown ? "" : "none";
  if (!shown) return;
  const places = [start, end].map(([x, y]) => [x + 0.5, y + 0.5].map(String));
  places.forEach(([x, y], k) => {
    line.setAttribute(`x${k + 1}`, x);
    line.setAttribute(`y${k + 1}`, y);
    handles[k].setAttribute("cx", x);
    handles[k].setAttribute("cy", y);
  });
}

customElements.define("farface-lines", FarfaceLines);
