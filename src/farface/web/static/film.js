// @ts-check
/** Look at a film frame by frame; picture and what was read off it change together. */

const PLAY_MS = 40;
const [FRAME, KIND, NUMBER, COLUMN, ROW, RADIUS, WIDE] = [0, 1, 2, 3, 4, 5, 6];

class FarfaceFilm extends HTMLElement {
  connectedCallback() {
    this.slider = /** @type {HTMLInputElement} */ (this.querySelector("input[type=range]"));
    this.canvas = /** @type {HTMLCanvasElement} */ (this.querySelector("canvas"));
    this.words = /** @type {HTMLOutputElement} */ (this.querySelector("output"));
    this.marked = /** @type {HTMLInputElement} */ (this.querySelector(".marked"));
    this.wide = Number(this.getAttribute("width"));
    this.high = Number(this.getAttribute("height"));
    this.grown = Math.max(1, Math.round(1280 / this.wide));
    this.canvas.width = this.wide * this.grown;
    this.canvas.height = this.high * this.grown;
    this.marks = new Float32Array();
    this.shown = -1;
    this.busy = false;
    this.slider.addEventListener("input", () => this.follow());
    this.marked.addEventListener("change", () => this.redraw());
    this.on(".back", () => this.go(this.frame - 1));
    this.on(".on", () => this.go(this.frame + 1));
    this.on(".play", () => this.play());
    document.addEventListener("farface:seek", (event) => this.go(/** @type {CustomEvent} */ (event).detail));
    document.addEventListener("farface:turned", () => this.redraw());
    const asked = /^#frame=(\d+)$/.exec(window.location.hash);
    if (asked) this.slider.value = asked[1];
    this.follow();
    this.readMarks();
  }

  get frame() {
    return Number(/** @type {HTMLInputElement} */ (this.slider).value);
  }

  /** @param {string} name @param {() => void} act */
  on(name, act) {
    /** @type {HTMLElement} */ (this.querySelector(name)).addEventListener("click", act);
  }

  /** @param {number} frame */
  go(frame) {
    /** @type {HTMLInputElement} */ (this.slider).value = String(frame);
    this.follow();
  }

  play() {
    const button = /** @type {HTMLElement} */ (this.querySelector(".play"));
    window.clearInterval(this.playing);
    const starts = button.textContent === "Play";
    button.textContent = starts ? "Pause" : "Play";
    if (starts) this.playing = window.setInterval(() => this.busy || this.go((this.frame + 1) % this.count()), PLAY_MS);
  }

  count() {
    return Number(/** @type {HTMLInputElement} */ (this.slider).max) + 1;
  }

  async readMarks() {
    const answer = await fetch(/** @type {string} */ (this.getAttribute("marks")));
    if (answer.ok) this.marks = new Float32Array(await answer.arrayBuffer());
    this.redraw();
  }

  /** Fetch the frame that is wanted; one request at a time, and the newest wish wins. */
  async follow() {
    if (this.busy) return;
    this.busy = true;
    while (this.shown !== this.frame) {
      const wanted = this.frame;
      try {
        const answer = await fetch(`${this.getAttribute("frames")}${wanted}?v=${this.getAttribute("state")}`);
        if (!answer.ok) break;
        this.picture = await createImageBitmap(await answer.blob());
        document.dispatchEvent(new Event("farface:back"));
      } catch {
        document.dispatchEvent(new Event("farface:lost"));
        break;
      }
      this.shown = wanted;
      this.redraw();
    }
    this.busy = false;
    window.clearTimeout(this.settling);
    this.settling = window.setTimeout(() => window.history.replaceState(null, "", `#frame=${this.shown}`), 300);
  }

  redraw() {
    if (!this.picture || !this.canvas) return;
    const pen = /** @type {CanvasRenderingContext2D} */ (this.canvas.getContext("2d"));
    const turned = this.isTurned();
    pen.setTransform(this.grown ?? 1, 0, 0, (turned ? -1 : 1) * (this.grown ?? 1), 0, turned ? this.canvas.height : 0);
    pen.drawImage(this.picture, 0, 0);
    pen.setTransform(this.grown ?? 1, 0, 0, this.grown ?? 1, 0.5 * (this.grown ?? 1), 0.5 * (this.grown ?? 1));
    const here = this.here();
    if (this.marked?.checked) for (const mark of here) disc(pen, mark);
    this.tell(here);
  }

  isTurned() {
    return /** @type {HTMLInputElement | null} */ (document.querySelector("[name=glass_below]"))?.checked ?? false;
  }

  /** Give the marks of the frame shown; rows are in order of frames. */
  here() {
    const marks = this.marks ?? new Float32Array();
    let [low, high] = [0, marks.length / WIDE];
    while (low < high) {
      const middle = (low + high) >> 1;
      if (marks[middle * WIDE + FRAME] < (this.shown ?? 0)) low = middle + 1;
      else high = middle;
    }
    const found = [];
    for (let at = low * WIDE; marks[at + FRAME] === this.shown; at += WIDE) found.push(marks.subarray(at, at + WIDE));
    return found;
  }

  /** @param {Float32Array[]} here */
  tell(here) {
    const bubbles = here.filter((mark) => mark[KIND] === 0);
    const pixelUm = Number(this.getAttribute("pixel-um"));
    const sized = bubbles.map((mark) => `${mark[NUMBER]} (radius ${(mark[RADIUS] * pixelUm).toPrecision(3)} um)`);
    const flashes = here.length - bubbles.length;
    const timeMs = ((this.shown ?? 0) / Number(this.getAttribute("frame-hz"))) * 1e3;
    const parts = [`Frame ${this.shown}, ${timeMs.toFixed(3)} ms`];
    if (this.marks?.length) {
      parts.push(sized.length ? `bubble ${sized.slice(0, 4).join(", ")}${sized.length > 4 ? ` and ${sized.length - 4} more` : ""}` : "no bubble");
      if (flashes) parts.push(flashes === 1 ? "a flash" : `${flashes} flashes`);
    }
    /** @type {HTMLOutputElement} */ (this.words).textContent = `${parts.join("; ")}.`;
    document.dispatchEvent(new CustomEvent("farface:frame", { detail: { frame: this.shown, timeMs } }));
  }
}

/** Draw a bubble as a ring, a flash as a diamond. @param {CanvasRenderingContext2D} pen @param {Float32Array} mark */
function disc(pen, mark) {
  const [x, y, r] = [mark[COLUMN], mark[ROW], Math.max(2, mark[RADIUS])];
  pen.beginPath();
  if (mark[KIND] === 0) pen.arc(x, y, r, 0, 2 * Math.PI);
  else for (const [dx, dy] of [[0, -r - 2], [r + 2, 0], [0, r + 2], [-r - 2, 0], [0, -r - 2]]) pen.lineTo(x + dx, y + dy);
  for (const [colour, wide] of [["#000", 1.6], ["#ffb08f", 0.8]]) {
    pen.strokeStyle = /** @type {string} */ (colour);
    pen.lineWidth = /** @type {number} */ (wide);
    pen.stroke();
  }
}

customElements.define("farface-film", FarfaceFilm);
