// @ts-check
/** Say in words what a place of the map holds, with bands, and how a setting is typed. */

import { shown, valueAt } from "./map-data.js";

/** @typedef {import("./map-data.js").Axis} Axis @typedef {import("./map-data.js").Quantity} Quantity */

const SEEN = { nothing: "nothing", frosted: "frosted", steady: "steady", burst_below: "burst below the face", runaway: "runaway", broken: "broken" };
const BANDS = /** @type {const} */ ([["depth", "depth per pass", 1e-6, "um"], ["margin", "margin from runaway", 1, ""], ["ignition", "pulses between flashes", 1, ""]]);

/**
 * Write the readout of a place for every map. @param {HTMLElement} output @param {any[]} maps
 * @param {{x: Axis, y: Axis}} axes @param {Quantity} quantity @param {{column: number, row: number} | null} place
 */
export function readout(output, maps, axes, quantity, place) {
  if (!place) return;
  const at = Object.assign(document.createElement("strong"), {
    textContent: `${words(axes.x, valueAt(axes.x, place.column))}, ${words(axes.y, valueAt(axes.y, place.row))}`,
  });
  const lines = maps.filter((map) => map.stack).map((map) => {
    const line = document.createElement("span");
    line.textContent = `${map.getAttribute("name")}: ${said(map, quantity, place)} `;
    return [document.createElement("br"), line];
  });
  output.replaceChildren(at, ...lines.flat().slice(1));
}

/** @param {any} map @param {Quantity} quantity @param {{column: number, row: number}} place */
function said(map, quantity, place) {
  const { stack } = map;
  const level = stack.levels > 1 ? map.level : 0;
  const read = (/** @type {string} */ layer, band = false) => {
    const value = stack.at(stack.plane(layer, level, band), place.row, place.column);
    return band ? Math.exp(value) : value;
  };
  if (read("reach") < 0.5) return "beyond what the laser gives.";
  const odds = Object.keys(SEEN).map((seen) => [seen, read(`odds-${seen}`)]).sort((a, b) => Number(b[1]) - Number(a[1]));
  const first = odds.slice(0, 2).map(([seen, share]) => `${SEEN[/** @type {keyof typeof SEEN} */ (seen)]} ${percent(Number(share))}`);
  if (quantity.name.startsWith("odds-") && !odds.slice(0, 2).some(([seen]) => `odds-${seen}` === quantity.name)) {
    first.push(`${quantity.words} ${percent(read(quantity.name))}`);
  }
  const shownBands = BANDS.some(([name]) => name === quantity.name) || !quantity.band ? BANDS : [...BANDS, /** @type {const} */ ([quantity.name, quantity.words, quantity.factor, quantity.unit])];
  const bands = shownBands.map(([name, say, factor, unit]) => {
    const [low, middle, high] = ["low", "median", "high"].map((end) => shown(read(`${name}-${end}`, true) / Number(factor)));
    return `${say} ${middle} ${unit} (${low} to ${high})`;
  });
  return `${first.join(", ")}; ${bands.join("; ")}.`.replace(/ +/g, " ");
}

/** @param {number} share */
function percent(share) {
  if (share < 0.005) return "<1 %";
  return share > 0.995 ? ">99 %" : `${Math.round(100 * share)} %`;
}

/** @param {Axis} axis @param {number} value */
function words(axis, value) {
  return `${axis.words} ${axis.whole ? Math.round(value) : shown(value)} ${axis.unit}`.trim();
}

/**
 * Name and text under which a value is typed; marking speed is reached by the pitch, copper belongs to the bath.
 * @param {Axis} axis @param {number} value @param {any} data @returns {[string, string]}
 */
export function textOf(axis, value, data) {
  if (axis.name === "copper") return ["", ""];
  if (axis.name === "speed") {
    const { rate_hz: rate, pulses_per_point: pulses } = data.setting_si;
    return ["pitch", `${Number((1e3 * value * pulses / rate).toPrecision(4))} um`];
  }
  const number = axis.whole ? String(Math.round(value)) : String(Number(value.toPrecision(4)));
  return [axis.name, axis.unit ? `${number} ${axis.unit}` : number];
}
