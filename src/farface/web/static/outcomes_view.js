// @ts-check
/** Show a plate's outcomes: the map with its marks, the chosen cell's fields, and what is not saved yet. */

/** @typedef {import("./outbox.js").Outbox} Outbox */
/** @typedef {import("./outbox.js").Entry} Entry */
/** @typedef {import("./outcomes_cells.js").Cell} Cell */

const STATE_WORDS = { unsent: "not saved yet", clash: "two values", refused: "not saved" };
const STATE_MARKS = { unsent: "…", clash: "≠", refused: "!" };

/** Show all of it; with ``force`` also the field that has the focus.
 * @param {HTMLElement} host @param {Cell[]} cells @param {Cell} chosen @param {Outbox} outbox @param {boolean} force */
export function draw(host, cells, chosen, outbox, force) {
  const waiting = outbox.entries();
  drawEditor(host, cells, chosen, waiting, force);
  for (const cell of cells) drawPlace(host, cell, waiting.filter((one) => one.cell === cell.cell));
  const typed = cells.filter((one) => value(one, "seen", waiting) !== "").length;
  say(host.querySelector(".count"), `${typed} of ${cells.length} cells typed in.`);
  say(host.querySelector(".unsent"), unsentWords(waiting));
}

/** @param {Entry[]} waiting */
function unsentWords(waiting) {
  const unsent = waiting.filter((one) => one.state === "unsent").length;
  const asked = waiting.length - unsent;
  const parts = [];
  if (unsent) parts.push(`${unsent} not saved yet, kept in this browser.`);
  if (asked) parts.push(`${asked} to settle: ${[...new Set(waiting.filter((one) => one.state !== "unsent").map((one) => one.cell))].join(", ")}.`);
  return parts.join(" ");
}

/** Give a finding as typed: what waits to be sent, else what is saved.
 * @param {Cell} cell @param {string} column @param {Entry[]} waiting */
function value(cell, column, waiting) {
  return entry(cell, column, waiting)?.now ?? cell.found[column] ?? "";
}

/** @param {Cell} cell @param {string} column @param {Entry[]} waiting */
function entry(cell, column, waiting) {
  return waiting.findLast((one) => one.cell === cell.cell && one.column === column);
}

/** @param {HTMLElement} host @param {Cell[]} cells @param {Cell} cell @param {Entry[]} waiting @param {boolean} force */
function drawEditor(host, cells, cell, waiting, force) {
  say(host.querySelector(".which"), `Cell ${cell.cell}`);
  say(host.querySelector(".turn"), `turn ${cell.order} of ${cells.length}`);
  say(host.querySelector(".tried"), cell.setting);
  for (const field of fieldsOf(host)) {
    const now = value(cell, field.name, waiting);
    if (field.type === "radio") /** @type {HTMLInputElement} */ (field).checked = field.value === now;
    else if (force || field !== document.activeElement || !alike(field.value, now)) field.value = now;
  }
  for (const place of host.querySelectorAll(".say")) {
    const column = place.id.slice(2);
    drawSay(host, /** @type {HTMLElement} */ (place), column, entry(cell, column, waiting));
  }
  const list = /** @type {HTMLElement} */ (host.querySelector(".lacks"));
  const lacks = cell.lacks.map((fault) => spoken(host, fault));
  if (list.innerText !== lacks.join("\n")) list.replaceChildren(...lacks.map((words) => element("li", words)));
  const more = /** @type {HTMLDetailsElement} */ (host.querySelector(".more"));
  if (force) more.open ||= fieldsOf(more).some((field) => field.value !== "");
}

/** Tell whether a text that is being typed says what is saved, so that it need not change under the fingers.
 * @param {string} typed @param {string} saved */
function alike(typed, saved) {
  const plain = typed.trim().replace(/\s+/g, " ");
  return plain === saved || plain.replace(",", ".") === saved;
}

/** @param {HTMLElement} host */
function fieldsOf(host) {
  return /** @type {(HTMLInputElement|HTMLSelectElement)[]} */ ([...host.querySelectorAll("form input, form select, .more input")]);
}

/** Put the field's own words in place of its column's name. @param {HTMLElement} host @param {string} fault */
function spoken(host, fault) {
  let words = fault;
  for (const label of host.querySelectorAll("label[for]")) {
    const column = (label.getAttribute("for") ?? "").slice(2);
    words = words.replaceAll(column, `“${label.textContent?.trim()}”`);
  }
  return words.replace(/^seen:/, "What was seen:").replaceAll("_", " ");
}

/** @param {HTMLElement} host @param {HTMLElement} place @param {string} column @param {Entry|undefined} one */
function drawSay(host, place, column, one) {
  const shown = one ? `${one.key}${one.state}` : "";
  if (place.dataset.shown === shown) return;
  place.dataset.shown = shown;
  place.className = `say ${one?.state ?? ""}`;
  if (one?.state !== "clash") return place.replaceChildren(one?.state === "refused" ? one.says : one ? STATE_WORDS.unsent : "");
  const [theirs, mine] = [one.says, one.now].map((text) => named(host, column, text));
  const take = button("theirs", column, `Take ${theirs}`);
  const keep = button("mine", column, `Keep ${mine}`);
  place.replaceChildren(element("span", `Someone saved ${theirs} meanwhile; here it says ${mine}.`), take, keep);
}

/** Say a value in words. @param {HTMLElement} host @param {string} column @param {string} text */
function named(host, column, text) {
  if (text === "") return "nothing typed";
  if (column !== "seen") return `“${text}”`;
  return `“${host.querySelector(`.seen-${text} span`)?.textContent ?? text}”`;
}

/** @param {HTMLElement} host @param {Cell} cell @param {Entry[]} waiting */
function drawPlace(host, cell, waiting) {
  const link = /** @type {HTMLElement} */ (host.querySelector(`[data-cell="${cell.cell}"]`));
  const [seen, depth] = ["seen", "depth_um"].map((column) => value(cell, column, waiting));
  const shown = /** @type {HTMLElement} */ (link.querySelector(".shown"));
  if (shown.dataset.seen !== seen) {
    shown.dataset.seen = seen;
    const mark = host.querySelector(`.seen-${seen || "none"} svg`);
    shown.replaceChildren(...(mark ? [mark.cloneNode(true)] : []));
  }
  say(link.querySelector(".deep"), depth);
  const state = ["refused", "clash", "unsent"].find((name) => waiting.some((one) => one.state === name));
  const key = /** @type {keyof typeof STATE_WORDS} */ (state ?? "unsent");
  say(link.querySelector(".state"), state ? STATE_MARKS[key] : cell.lacks.length ? "?" : "");
  const words = seen ? named(host, "seen", seen).replace(/[“”]/g, "") : "not typed in";
  const more = [depth && `${depth} um`, state ? STATE_WORDS[key] : cell.lacks.length ? "to complete" : ""].filter(Boolean);
  link.setAttribute("aria-label", [`${cell.cell}, turn ${cell.order}: ${words}`, ...more].join(", "));
}

/** @param {string} tag @param {string} words */
function element(tag, words) {
  const made = document.createElement(tag);
  made.textContent = words;
  return made;
}

/** @param {string} kind @param {string} column @param {string} words */
function button(kind, column, words) {
  const made = /** @type {HTMLButtonElement} */ (element("button", words));
  made.type = "button";
  made.className = kind;
  made.setAttribute("data-keep", column);
  return made;
}

/** Change a text only where it differs, so that readers of the screen are not told twice.
 * @param {Element|null} place @param {string} words */
function say(place, words) {
  if (place && place.textContent !== words) place.textContent = words;
}
