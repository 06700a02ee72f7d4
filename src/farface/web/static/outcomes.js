// @ts-check
/** Type outcomes cell by cell, with thumbs or with keys alone; what is not saved yet says so. */

import { Outbox } from "./outbox.js";
import { mark, neighbour, news } from "./outcomes_cells.js";
import { draw } from "./outcomes_view.js";

/** @typedef {import("./outcomes_cells.js").Cell} Cell */

const IDLE_MS = 900;
const NEWS_MS = 4000;

class FarfaceOutcomes extends HTMLElement {
  /** @type {Cell[]} */ cells = [];
  /** @type {string[]} */ seen = [];
  chosen = "";
  method = "";
  idle = 0;
  ask = 0;
  outbox = new Outbox("");

  connectedCallback() {
    this.cells = JSON.parse(this.one(".cells").textContent ?? "[]");
    this.method = this.cells.findLast((one) => one.found.depth_method)?.found.depth_method ?? "";
    this.seen = this.radios().map((one) => one.value);
    this.chosen = this.getAttribute("chosen") ?? "";
    this.outbox = new Outbox(this.getAttribute("plate") ?? "");
    this.outbox.addEventListener("change", () => this.show());
    this.outbox.addEventListener("row", (event) => this.take(/** @type {CustomEvent} */ (event).detail));
    const form = this.one("form");
    form.inert = false; // until here nobody would have kept what is typed
    form.addEventListener("input", (event) => this.typed(event));
    form.addEventListener("change", () => this.outbox.send());
    form.addEventListener("submit", (event) => event.preventDefault());
    form.addEventListener("click", (event) => this.settle(event));
    form.addEventListener("keydown", (event) => this.key(event));
    this.one(".plate-map").addEventListener("keydown", (event) => this.move(/** @type {KeyboardEvent} */ (event)));
    this.one(".plate-map").addEventListener("click", (event) => this.pick(event));
    this.one(".plate-map").addEventListener("focusin", (event) => this.pick(event));
    this.one("button.on").addEventListener("click", () => this.go(1));
    this.one("button.back").addEventListener("click", () => this.go(-1));
    this.choose(this.chosen);
    this.outbox.send();
    this.ask = window.setInterval(() => this.hear(), NEWS_MS);
  }

  disconnectedCallback() {
    window.clearInterval(this.ask);
  }

  /** Show what was typed elsewhere, on a phone or in another tab; what waits here comes first. */
  async hear() {
    if (document.hidden || this.outbox.next()) return;
    for (const cell of await news(this.outbox.plate, this.cells)) this.take(cell);
  }

  one(/** @type {string} */ path) {
    return /** @type {HTMLElement} */ (this.querySelector(path));
  }

  radios() {
    return /** @type {HTMLInputElement[]} */ ([...this.querySelectorAll("fieldset.seen input")]);
  }

  cell(name = this.chosen) {
    return /** @type {Cell} */ (this.cells.find((one) => one.cell === name));
  }

  typed(/** @type {Event} */ event) {
    const field = /** @type {HTMLInputElement} */ (event.target);
    this.outbox.put(this.chosen, field.name, this.cell().found[field.name] ?? "", field.value);
    const method = /** @type {HTMLSelectElement} */ (this.one("#f-depth_method"));
    if (field.name === "depth_method") this.method = field.value;
    if (field.name === "depth_um" && field.value && !method.value && this.method) {
      this.outbox.put(this.chosen, "depth_method", "", this.method); // as the cell before was measured
    }
    window.clearTimeout(this.idle);
    this.idle = window.setTimeout(() => this.outbox.send(), IDLE_MS);
  }

  /** Take a row as the server has it. @param {{cell: string, found: Record<string, string>, lacks: string[]}} told */
  take(told) {
    Object.assign(this.cell(told.cell), { found: told.found, lacks: told.lacks });
    this.show();
    this.dispatchEvent(new Event("farface-saved", { bubbles: true }));
  }

  choose(/** @type {string} */ name, focus = false) {
    this.chosen = name;
    mark(this, name, focus);
    const address = new URL(window.location.href);
    address.searchParams.set("plate", this.outbox.plate);
    address.searchParams.set("cell", name);
    window.history.replaceState(null, "", address);
    this.show(true);
  }

  /** Go on in the run. */
  go(/** @type {number} */ step) {
    const at = this.cells.indexOf(this.cell()) + step;
    this.choose(this.cells[(at + this.cells.length) % this.cells.length].cell);
    (this.radios().find((one) => one.checked) ?? this.radios()[0]).focus({ preventScroll: true });
  }

  key(/** @type {KeyboardEvent} */ event) {
    const field = /** @type {HTMLInputElement} */ (event.target);
    const digit = Number(event.key);
    if (event.key === "Enter" && field.type === "radio") this.one("#f-depth_um").focus();
    else if (event.key === "Enter" && field.matches("input")) this.go(1);
    else if (field.type === "radio" && digit >= 1 && digit <= this.seen.length) this.say(digit);
    else return;
    event.preventDefault();
  }

  /** Say by its number what was seen. @param {number} digit */
  say(digit) {
    this.outbox.put(this.chosen, "seen", this.cell().found.seen, this.seen[digit - 1]);
    this.show(true);
    this.outbox.send();
  }

  move(/** @type {KeyboardEvent} */ event) {
    const digit = Number(event.key);
    const next = neighbour(this.cells, this.cell(), event.key);
    if (next) this.choose(next.cell, true);
    else if (digit >= 1 && digit <= this.seen.length) this.say(digit);
    else if (event.key === "Enter") this.one("#f-depth_um").focus();
    else return;
    event.preventDefault();
  }

  /** Choose the cell that was reached or clicked. */
  pick(/** @type {Event} */ event) {
    const link = /** @type {HTMLElement} */ (event.target).closest("a");
    if (!link) return;
    if (link.dataset.cell !== this.chosen) this.choose(link.dataset.cell ?? "");
    if (event.type !== "click") return;
    event.preventDefault();
    this.one("form").scrollIntoView({ block: "nearest" });
  }

  /** Settle a clash, by keeping what was typed here or taking what was saved meanwhile. @param {Event} event */
  settle(event) {
    const button = /** @type {HTMLElement} */ (event.target).closest("button[data-keep]");
    const entry = this.outbox.waiting(this.chosen, button?.getAttribute("data-keep") ?? "");
    if (!button || !entry) return;
    this.outbox.drop(entry);
    if (button.className === "mine") this.outbox.put(entry.cell, entry.column, entry.says, entry.now);
    this.show(true);
    this.outbox.send();
  }

  /** Show everything as it stands; with ``fields`` also the field that has the focus. */
  show(fields = false) {
    draw(this, this.cells, this.cell(), this.outbox, fields);
  }
}

customElements.define("farface-outcomes", FarfaceOutcomes);
