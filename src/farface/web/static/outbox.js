// @ts-check
/**
 * Keep what was typed until the server has it: in the browser's own store, so that neither a lost connection
 * nor a closed page loses anything. Each change has a key of its own; sent twice, it counts once.
 */

/** @typedef {{key: string, plate: string, cell: string, column: string, was: string, now: string, at: number,
 *   state: "unsent"|"clash"|"refused", says: string}} Entry */

const STORE = "farface-unsent:";
const AGAIN_MS = 1500;

export class Outbox extends EventTarget {
  /** @param {string} plate */
  constructor(plate) {
    super();
    this.plate = plate;
    this.sending = "";
    this.timer = 0;
    window.addEventListener("online", () => this.send());
    window.addEventListener("storage", () => this.tell());
  }

  /** List what waits for this plate, the oldest first. @returns {Entry[]} */
  entries() {
    const found = [];
    for (let k = 0; k < localStorage.length; k += 1) {
      const name = localStorage.key(k) ?? "";
      if (!name.startsWith(STORE)) continue;
      const entry = /** @type {Entry} */ (JSON.parse(localStorage.getItem(name) ?? "{}"));
      if (entry.plate === this.plate) found.push(entry);
    }
    return found.sort((a, b) => a.at - b.at);
  }

  /** Find the newest that waits for a field. @param {string} cell @param {string} column */
  waiting(cell, column) {
    return this.entries().findLast((one) => one.cell === cell && one.column === column);
  }

  /** Take a change in; it takes the place of one that waits and is not on its way.
   * @param {string} cell @param {string} column @param {string} was @param {string} now */
  put(cell, column, was, now) {
    const old = this.waiting(cell, column);
    const flying = old !== undefined && old.key === this.sending;
    if (old && !flying) this.drop(old);
    const before = old && old.state !== "clash" ? (flying ? old.now : old.was) : was;
    if (before === now) return this.tell();
    this.keep({ key: newKey(), plate: this.plate, cell, column, was: before, now, at: Date.now(), state: "unsent", says: "" });
    this.tell();
  }

  /** @param {Entry} entry */
  keep(entry) {
    localStorage.setItem(STORE + entry.key, JSON.stringify(entry));
  }

  /** @param {Entry} entry */
  drop(entry) {
    localStorage.removeItem(STORE + entry.key);
  }

  tell() {
    this.dispatchEvent(new Event("change"));
  }

  /** Send what waits, one after another; without an answer, try again in a while. */
  async send() {
    window.clearTimeout(this.timer);
    if (this.sending) return;
    for (let next = this.next(); next; next = this.next()) {
      this.sending = next.key;
      const went = await this.deliver(next);
      this.sending = "";
      this.tell();
      document.dispatchEvent(new Event(went ? "farface:back" : "farface:lost"));
      if (!went) {
        this.timer = window.setTimeout(() => this.send(), AGAIN_MS);
        return;
      }
    }
  }

  next() {
    return this.entries().find((one) => one.state === "unsent");
  }

  /** Send one change; tell whether it was answered. @param {Entry} entry */
  async deliver(entry) {
    try {
      let answer = await post(entry);
      if (answer.status === 403) {
        await fetch("/look.css", { cache: "reload" }); // the server was started again: take its new token
        answer = await post(entry);
      }
      if (answer.status >= 500 || answer.status === 403 || answer.redirected) return false;
      const told = await answer.json().catch(() => ({}));
      if (answer.ok) this.drop(entry);
      else if (answer.status === 409) this.keep({ ...entry, state: "clash", says: told.theirs });
      else this.keep({ ...entry, state: "refused", says: told.error ?? "This could not be saved." });
      if (told.found) this.dispatchEvent(new CustomEvent("row", { detail: { cell: entry.cell, ...told } }));
      return true;
    } catch {
      return false;
    }
  }
}

/** @param {Entry} entry */
function post(entry) {
  const body = new URLSearchParams({ column: entry.column, was: entry.was, now: entry.now, key: entry.key });
  const path = `/outcomes/${encodeURIComponent(entry.plate)}/${encodeURIComponent(entry.cell)}`;
  return fetch(path, { method: "POST", body, headers: { accept: "application/json" } });
}

/** Make a key; randomUUID is not there on a plain network address. */
function newKey() {
  return Array.from(crypto.getRandomValues(new Uint8Array(12)), (byte) => byte.toString(16).padStart(2, "0")).join("");
}
