// @ts-check
/** The window page: one slider, one quantity and one cursor for all maps, and the setting that was picked. */

import { Stack, placeOf, shown, valueAt } from "./map-data.js";
import { paintScale } from "./map-paint.js";
import { FarfaceMap } from "./map.js";
import { readout, textOf } from "./window-words.js";

/** @param {string} id */
const find = (id) => /** @type {any} */ (document.getElementById(id));
const maps = /** @type {FarfaceMap[]} */ ([...document.querySelectorAll("farface-map")]);
const [slider, figure, says] = [find("slider"), find("slider-number"), find("slide-says")];
const query = new URLSearchParams(location.search);
const told = await (await fetch(`/window.json?${query}`)).json();
const { axes, quantities, layers, basis } = told.data;
let quantity = quantities.find((/** @type {any} */ one) => one.name === query.get("quantity")) ?? quantities[0];
let waiting = false;

/** Draw all maps at the next frame, however often it is asked for. */
function redraw() {
  if (waiting) return;
  waiting = true;
  requestAnimationFrame(() => {
    waiting = false;
    for (const map of maps) map.draw();
    performance.mark("window-drawn");
  });
}

/** @param {string} name @param {string} value */
function keepInAddress(name, value) {
  query.set(name, value);
  history.replaceState(null, "", `/window?${query}`);
}

/** Move the slider, its figure and all maps. @param {number} value */
function slideTo(value) {
  slider.value = figure.value = String(Number(value.toPrecision(4)));
  for (const map of maps) map.level = placeOf(axes.slide, value);
  redraw();
}

function showQuantity() {
  find("quantity").value = quantity.name;
  for (const map of maps) map.quantity = quantity;
  const [low, high] = quantity.span;
  const middle = quantity.band ? Math.sqrt(low * high) : (low + high) / 2;
  find("scale-words").replaceChildren(...[low, middle, high].map((value) => Object.assign(document.createElement("li"), { textContent: `${shown(value)} ${quantity.unit}` })));
  redraw();
}

/** Load a map, rough or with every value of the slider. @param {FarfaceMap} map @param {boolean} fine */
async function load(map, fine) {
  const asked = new URLSearchParams(query);
  if (map.hasAttribute("prior")) asked.set("prior", "true");
  for (const [name, part] of [["x", told.data.x], ["y", told.data.y], ["slide", told.data.slide]]) asked.set(name, part);
  asked.set("fine", String(fine));
  map.toggleAttribute("stale", !map.stack);
  try {
    map.stack = await Stack.load(`/window/stack?${asked}`, layers, loading.signal);
    map.removeAttribute("stale");
    if (!map.hasAttribute("prior") && map.stack.basis !== basis) says.textContent = "The bench changed: reload.";
    redraw();
    document.dispatchEvent(new Event("farface:back"));
  } catch (error) {
    if (loading.signal.aborted) return;
    says.textContent = String(/** @type {Error} */ (error).message);
    map.setAttribute("stale", "");
    if (error instanceof TypeError) document.dispatchEvent(new Event("farface:lost"));
  }
}

/** Pick a place: it becomes the setting in the address, and is explained. @param {{column: number, row: number}} place */
function pick(place) {
  const values = { [axes.x.name]: valueAt(axes.x, place.column), [axes.y.name]: valueAt(axes.y, place.row), [axes.slide.name]: slider.disabled ? axes.slide.now : Number(slider.value) };
  for (const axis of [axes.x, axes.y, axes.slide]) {
    axis.now = values[axis.name];
    const [name, text] = textOf(axis, values[axis.name], told.data);
    if (name) keepInAddress(name, text);
  }
  for (const map of maps) map.place(axes);
  redraw();
  const picked = find("picked");
  /** @type {any} */ (window).htmx.ajax("GET", `/window/cell?${query}`, { source: picked, target: picked, swap: "innerHTML" });
}

function pickedCame() {
  const texts = [...document.querySelectorAll("#picked-texts li")];
  for (const one of texts) {
    const input = find(`s-${/** @type {HTMLElement} */ (one).dataset.name}`);
    if (input) input.value = one.textContent;
  }
  const sets = [...document.querySelectorAll("#published li")].map((one) => /** @type {HTMLElement} */ (one));
  for (const map of maps) map.published = sets.map((one) => ({ low: 1e6 * Number(one.dataset.low), high: 1e6 * Number(one.dataset.high), words: one.textContent ?? "" }));
  redraw();
}

const loading = new AbortController();
addEventListener("pagehide", () => loading.abort());
find("over").addEventListener("change", (/** @type {Event} */ event) => {
  if (event.target !== find("quantity")) return find("over").submit();
  quantity = quantities.find((/** @type {any} */ one) => one.name === find("quantity").value);
  keepInAddress("quantity", quantity.name);
  return showQuantity();
});
slider.addEventListener("input", () => slideTo(Number(slider.value)));
figure.addEventListener("change", () => slideTo(Number(figure.value)));
find("maps").addEventListener("map-pick", (/** @type {CustomEvent} */ event) => pick(event.detail));
find("maps").addEventListener("map-point", (/** @type {CustomEvent} */ event) => {
  for (const map of maps) map.cursor = event.detail;
  readout(find("readout"), maps, axes, quantity, event.detail);
  redraw();
});
find("to-steadiest").addEventListener("click", () => {
  const place = maps[0].stack && steadiest(maps[0]);
  if (place) pick(place);
});
document.addEventListener("htmx:afterSettle", (event) => /** @type {HTMLElement} */ (event.target).id === "picked" && pickedCame());

/** @param {FarfaceMap} map */
function steadiest(map) {
  const stack = /** @type {Stack} */ (map.stack);
  const plane = stack.plane("odds-steady", stack.levels > 1 ? map.level : 0, false);
  const reach = stack.plane("reach", Math.round(stack.levels > 1 ? map.level : 0), false);
  let best = -1;
  plane.forEach((odds, i) => { if (reach[i] > 0.5 && (best < 0 || odds > plane[best])) best = i; });
  return best < 0 ? null : { column: best % stack.columns, row: Math.floor(best / stack.columns) };
}

for (const one of [slider, figure]) {
  const ends = axes.slide.values;
  Object.assign(one, { min: ends[0], max: ends[ends.length - 1], step: axes.slide.whole ? 1 : "any" });
}
for (const map of maps) map.place(axes);
paintScale(find("scale"));
showQuantity();
slideTo(axes.slide.now);
pickedCame();
for (const map of maps) await load(map, false);
find("to-steadiest").disabled = false;
find("maps").dataset.shown = "yes";
for (const map of maps) await load(map, true);
slider.disabled = figure.disabled = false;
if (says.textContent === "computing …") says.textContent = "";
slideTo(axes.slide.now);
find("maps").dataset.ready = "yes";
