// @ts-check
/** Paint a plane as colours, and trace the lines where it crosses a level. */

/** @typedef {import("./map-data.js").Stack} Stack @typedef {import("./map-data.js").Quantity} Quantity */

export const SIDE = 200;

// Nine steps of cividis (matplotlib, public domain): even to the eye, also to one that confuses red and green.
const STEPS = ["00224e", "123570", "3b496c", "575d6d", "707173", "8a8678", "a59c74", "c3b369", "fee838"];
const LUT = scale();

function scale() {
  const table = new Uint32Array(256);
  const part = (/** @type {string} */ hex, /** @type {number} */ k) => parseInt(hex.slice(2 * k, 2 * k + 2), 16);
  for (let i = 0; i < 256; i += 1) {
    const at = (i / 255) * (STEPS.length - 1);
    const k = Math.min(Math.floor(at), STEPS.length - 2);
    const [r, g, b] = [0, 1, 2].map((c) => part(STEPS[k], c) + (at - k) * (part(STEPS[k + 1], c) - part(STEPS[k], c)));
    table[i] = (255 << 24) | (Math.round(b) << 16) | (Math.round(g) << 8) | Math.round(r);
  }
  return table;
}

/** The span of a quantity's colours in the numbers of its layer. @param {Quantity} quantity */
export function span(quantity) {
  const ends = quantity.span.map((end) => end * quantity.factor);
  return quantity.band ? ends.map(Math.log) : ends;
}

/**
 * Paint a plane to SIDE x SIDE pixels, upwards rising; what is out of reach stays grey.
 * @param {ImageData} image @param {Stack} stack @param {Float32Array} plane @param {Float32Array} reach
 * @param {Quantity} quantity @param {{whole: boolean}} x @param {{whole: boolean}} y
 */
export function paint(image, stack, plane, reach, quantity, x, y) {
  const pixels = new Uint32Array(image.data.buffer);
  const [low, high] = span(quantity);
  const rows = places(stack.rows, y.whole);
  const columns = places(stack.columns, x.whole);
  const left = Int32Array.from(columns, (place) => Math.min(Math.floor(place), stack.columns - 2));
  const near = Int32Array.from(columns, (place) => Math.round(place));
  const line = new Float32Array(stack.columns);
  for (let j = 0; j < SIDE; j += 1) {
    const place = rows[SIDE - 1 - j];
    const r = Math.min(Math.floor(place), stack.rows - 2);
    const [v, at, reached] = [place - r, r * stack.columns, Math.round(place) * stack.columns];
    for (let c = 0; c < stack.columns; c += 1) {
      line[c] = 255 * ((1 - v) * plane[at + c] + v * plane[at + stack.columns + c] - low) / (high - low);
    }
    for (let i = 0; i < SIDE; i += 1) {
      const u = columns[i] - left[i];
      const shade = Math.round((1 - u) * line[left[i]] + u * line[left[i] + 1]);
      pixels[j * SIDE + i] = reach[reached + near[i]] < 0.5 ? ((i + j) % 8 < 2 ? 0xff8f8f8f : 0xffb9b9b9)
        : LUT[shade > 0 ? Math.min(shade, 255) : 0];
    }
  }
}

/** The fractional index at each pixel; along whole numbers each has a band of its own. @param {number} count @param {boolean} whole */
function places(count, whole) {
  const found = new Float32Array(SIDE);
  for (let i = 0; i < SIDE; i += 1) {
    const share = (i + 0.5) / SIDE;
    found[i] = whole ? Math.min(Math.floor(share * count), count - 1) : share * (count - 1);
  }
  return found;
}

/** Paint the colour scale. @param {HTMLCanvasElement} canvas */
export function paintScale(canvas) {
  const context = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
  const image = context.createImageData(256, canvas.height);
  const pixels = new Uint32Array(image.data.buffer);
  for (let i = 0; i < pixels.length; i += 1) pixels[i] = LUT[i % 256];
  context.putImageData(image, 0, 0);
}

/**
 * Trace where a plane crosses a level: segments [column, row, column, row] by marching squares.
 * @param {Stack} stack @param {Float32Array} plane @param {number} level
 */
export function contour(stack, plane, level) {
  /** @type {number[][]} */
  const found = [];
  for (let r = 0; r + 1 < stack.rows; r += 1) {
    for (let c = 0; c + 1 < stack.columns; c += 1) {
      const i = r * stack.columns + c;
      const corners = [plane[i], plane[i + 1], plane[i + stack.columns + 1], plane[i + stack.columns]];
      const at = [[c, r], [c + 1, r], [c + 1, r + 1], [c, r + 1]];
      const crossed = [];
      for (let k = 0; k < 4; k += 1) {
        const [a, b] = [corners[k] - level, corners[(k + 1) % 4] - level];
        if (a < 0 !== b < 0) {
          const [p, q, share] = [at[k], at[(k + 1) % 4], a / (a - b)];
          crossed.push(p[0] + share * (q[0] - p[0]), p[1] + share * (q[1] - p[1]));
        }
      }
      for (let k = 0; k + 3 < crossed.length; k += 4) found.push(crossed.slice(k, k + 4));
    }
  }
  return found;
}
