// @ts-check
/** Draw what surrounds and overlies the colours of a map: axes, lines of margin, cursor, picked place, veil. */

import { contour } from "./map-paint.js";
import { placeOf, shareOf, shown } from "./map-data.js";

/** @typedef {import("./map.js").FarfaceMap} FarfaceMap @typedef {import("./map-data.js").Axis} Axis */
/** @typedef {{left: number, top: number, wide: number, high: number}} Frame */

const EDGES = { left: 52, right: 12, top: 10, bottom: 46 };
const BAR_PX = 13;

/** The room around the colours; above them a bar for each published set, where one is drawn. @param {FarfaceMap} map */
export function edges(map) {
  const bars = map.axes?.x.name === "energy" ? map.published.length : 0;
  return { ...EDGES, top: EDGES.top + bars * BAR_PX };
}
const LINES = /** @type {[number, number[]][]} */ ([[1, []], [2, [6, 4]]]);

/** Axes with round ticks. @param {CanvasRenderingContext2D} context @param {Frame} frame @param {{x: Axis, y: Axis}} axes @param {CSSStyleDeclaration} style */
export function drawFrame(context, frame, axes, style) {
  const ink = style.getPropertyValue("--ff-ink").trim() || "#000";
  const { left, top, wide, high } = frame;
  context.setLineDash([]);
  Object.assign(context, { strokeStyle: ink, fillStyle: ink, lineWidth: 1, font: `13px ${style.fontFamily}`, globalAlpha: 1 });
  context.strokeRect(left, top, wide, high);
  Object.assign(context, { textAlign: "center", textBaseline: "top" });
  for (const value of ticks(axes.x, wide / 70)) {
    const x = left + shareOf(axes.x, exact(axes.x, value)) * wide;
    context.fillText(shown(value), x, top + high + 6);
    context.fillRect(x - 0.5, top + high, 1, 4);
  }
  context.fillText(titled(axes.x), left + wide / 2, top + high + 26);
  Object.assign(context, { textAlign: "right", textBaseline: "middle" });
  for (const value of ticks(axes.y, high / 45)) {
    const y = top + (1 - shareOf(axes.y, exact(axes.y, value))) * high;
    context.fillText(shown(value), left - 6, y);
    context.fillRect(left - 4, y - 0.5, 4, 1);
  }
  context.save();
  context.translate(11, top + high / 2);
  context.rotate(-Math.PI / 2);
  Object.assign(context, { textAlign: "center", textBaseline: "middle" });
  context.fillText(titled(axes.y), 0, 0);
  context.restore();
}

/** Lines, places and bars upon the colours. @param {CanvasRenderingContext2D} context @param {Frame} frame @param {FarfaceMap} map @param {Float32Array} margin */
export function drawMarks(context, frame, map, margin) {
  context.save();
  context.beginPath();
  context.rect(frame.left, frame.top, frame.wide, frame.high);
  context.clip();
  if (map.hasAttribute("prior")) veil(context, frame);
  for (const [level, dash] of LINES) {
    context.setLineDash(dash);
    context.beginPath();
    for (const [c1, r1, c2, r2] of contour(/** @type {any} */ (map.stack), margin, Math.log(level))) {
      context.moveTo(...pair(map.pixel(frame, c1, r1)));
      context.lineTo(...pair(map.pixel(frame, c2, r2)));
    }
    stroke(context, 2);
  }
  context.setLineDash([]);
  for (const [place, radius] of /** @type {const} */ ([[map.picked, 9], [map.cursor, 5]])) {
    if (!place) continue;
    const [x, y] = map.pixel(frame, place.column, place.row);
    context.beginPath();
    context.arc(x, y, radius, 0, 2 * Math.PI);
    if (radius === 9) for (const [dx, dy] of [[14, 0], [-14, 0], [0, 14], [0, -14]]) { context.moveTo(x + dx / 2, y + dy / 2); context.lineTo(x + dx, y + dy); }
    stroke(context, 2.5);
  }
  context.restore();
}

/** Hatch what no plate stands behind. @param {CanvasRenderingContext2D} context @param {Frame} frame */
function veil(context, { left, top, wide, high }) {
  context.beginPath();
  for (let at = -high; at < wide; at += 9) {
    context.moveTo(left + at, top + high);
    context.lineTo(left + at + high, top);
  }
  Object.assign(context, { strokeStyle: "#fff", lineWidth: 2, globalAlpha: 0.34 });
  context.stroke();
  context.globalAlpha = 1;
}

/** A named bar for each published set, where this bench absorbs what it spans. @param {CanvasRenderingContext2D} context @param {Frame} frame @param {FarfaceMap} map @param {string} ink @param {string} paper */
export function drawPublished(context, frame, map, ink, paper) {
  const axes = map.axes;
  if (!axes || axes.x.name !== "energy") return;
  const ends = axes.x.values;
  map.published.forEach(({ low, high, words }, k) => {
    const y = EDGES.top + (k + 0.3) * BAR_PX;
    const none = high < ends[0] || low > ends[ends.length - 1];
    const [from, to] = [low, high].map((value) => frame.left + shareOf(axes.x, placeOf(axes.x, value)) * frame.wide);
    Object.assign(context, { fillStyle: ink, font: "11px sans-serif", textBaseline: "middle", globalAlpha: 1 });
    if (!none) context.fillRect(from, y - 2, Math.max(to - from, 3), 4);
    const right = none || to + 150 < frame.left + frame.wide;
    context.textAlign = right ? "left" : "right";
    const beyond = low > ends[0] ? "further right" : "further left";
    const at = none ? frame.left : right ? to + 6 : frame.left + frame.wide;
    Object.assign(context, { strokeStyle: paper, lineWidth: 5, lineJoin: "round" });
    if (!none) context.strokeText(words, at, y);
    context.fillText(none ? `${words}: ${beyond}` : words, at, y);
  });
}

/** Stroke dark on light, so that it shows on every colour. @param {CanvasRenderingContext2D} context @param {number} width */
function stroke(context, width) {
  Object.assign(context, { strokeStyle: "#fff", lineWidth: width + 2, lineCap: "round" });
  context.stroke();
  Object.assign(context, { strokeStyle: "#101418", lineWidth: width });
  context.stroke();
}

/** @param {Axis} axis @param {number} most */
function ticks(axis, most) {
  const [low, high] = [axis.values[0], axis.values[axis.values.length - 1]];
  const rough = (high - low) / Math.max(2, Math.floor(most));
  const power = 10 ** Math.floor(Math.log10(rough));
  let step = (/** @type {number} */ ([1, 2, 5, 10].find((k) => k * power >= rough))) * power;
  if (axis.whole) step = Math.max(1, Math.round(step));
  const found = [];
  for (let value = Math.ceil(low / step - 1e-9) * step; value <= high + 1e-9 * step; value += step) found.push(value);
  return found;
}

/** @param {Axis} axis @param {number} value */
const exact = (axis, value) => placeOf({ ...axis, whole: false }, value);
/** @param {Axis} axis */
const titled = (axis) => (axis.unit ? `${axis.words}, ${axis.unit}` : axis.words);
/** @param {number[]} values @returns {[number, number]} */
const pair = ([a, b]) => [a, b];
