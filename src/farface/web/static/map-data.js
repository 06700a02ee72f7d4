// @ts-check
/**
 * The maps of a window: float32 values in the order layer, level, y, x, and how they are read between the
 * points that were computed. Logarithmic quantities are blended by their logarithms; along settings that take
 * whole numbers only, the nearest computed value stands.
 *
 * @typedef {{name: string, words: string, unit: string, whole: boolean, values: number[], now: number}} Axis
 * @typedef {{name: string, words: string, unit: string, factor: number, span: [number, number], band: boolean}} Quantity
 * @typedef {{x: Axis, y: Axis, slide: Axis}} Axes
 */

export class Stack {
  /** @param {Float32Array} values @param {number[]} shape @param {string[]} layers @param {string} basis */
  constructor(values, shape, layers, basis) {
    this.values = values;
    this.levels = shape[1];
    this.rows = shape[2];
    this.columns = shape[3];
    this.layers = layers;
    this.basis = basis;
  }

  /** Fetch a stack. @param {string} address @param {string[]} layers @param {AbortSignal} signal */
  static async load(address, layers, signal) {
    const answer = await fetch(address, { signal });
    if (!answer.ok) throw new Error((await answer.text()).slice(0, 300));
    const shape = JSON.parse(answer.headers.get("x-shape") ?? "[]");
    return new Stack(new Float32Array(await answer.arrayBuffer()), shape, layers, answer.headers.get("x-basis") ?? "");
  }

  /**
   * Blend one layer between two levels into a plane of rows x columns.
   * @param {string} layer @param {number} level @param {boolean} logarithmic
   */
  plane(layer, level, logarithmic) {
    const size = this.rows * this.columns;
    const start = this.layers.indexOf(layer) * this.levels * size;
    const low = Math.min(Math.floor(level), this.levels - 1);
    const high = Math.min(low + 1, this.levels - 1);
    const share = level - low;
    const plane = new Float32Array(size);
    for (let i = 0; i < size; i += 1) {
      const a = this.values[start + low * size + i];
      const b = this.values[start + high * size + i];
      plane[i] = logarithmic
        ? (1 - share) * Math.log(Math.max(a, 1e-30)) + share * Math.log(Math.max(b, 1e-30))
        : (1 - share) * a + share * b;
    }
    return plane;
  }

  /**
   * Read a plane at a place between its points. @param {Float32Array} plane @param {number} row @param {number} column
   */
  at(plane, row, column) {
    const r = Math.min(Math.floor(row), this.rows - 2);
    const c = Math.min(Math.floor(column), this.columns - 2);
    const [v, u] = [row - r, column - c];
    const i = Math.max(r, 0) * this.columns + Math.max(c, 0);
    const below = plane[i] * (1 - u) + plane[i + 1] * u;
    return below * (1 - v) + (plane[i + this.columns] * (1 - u) + plane[i + this.columns + 1] * u) * v;
  }
}

/** Give the place of a value among an axis' values, as a fractional index. @param {Axis} axis @param {number} value */
export function placeOf(axis, value) {
  const { values } = axis;
  if (values.length < 2) return 0;
  let k = 0;
  while (k < values.length - 2 && values[k + 1] <= value) k += 1;
  const place = Math.min(Math.max(k + (value - values[k]) / (values[k + 1] - values[k]), 0), values.length - 1);
  return axis.whole ? Math.round(place) : place;
}

/** Give the value at a fractional index. @param {Axis} axis @param {number} place */
export function valueAt(axis, place) {
  const at = axis.whole ? Math.round(place) : place;
  const k = Math.min(Math.max(Math.floor(at), 0), axis.values.length - 2);
  return axis.values[k] + (at - k) * (axis.values[k + 1] - axis.values[k]);
}

/** Where a fractional index lies along a side of the map, 0 to 1. @param {Axis} axis @param {number} place */
export function shareOf(axis, place) {
  const count = axis.values.length;
  return axis.whole ? (place + 0.5) / count : place / (count - 1);
}

/** The fractional index at a share of a side. @param {Axis} axis @param {number} share */
export function placeAt(axis, share) {
  const count = axis.values.length;
  if (axis.whole) return Math.min(Math.max(Math.floor(share * count), 0), count - 1);
  return Math.min(Math.max(share, 0), 1) * (count - 1);
}

/** Write a number with three significant digits, without an exponent. @param {number} value */
export function shown(value) {
  if (!Number.isFinite(value)) return "unknown";
  const size = Math.abs(value);
  if (size >= 1000) return value.toFixed(0);
  return String(Number(value.toPrecision(3)));
}
