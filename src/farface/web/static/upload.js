// @ts-check
/** Send one file as it is, with progress and a way to stop; the server streams it to the disk. */

class FarfaceUpload extends HTMLElement {
  connectedCallback() {
    this.form = /** @type {HTMLFormElement} */ (this.querySelector("form"));
    this.words = /** @type {HTMLOutputElement} */ (this.querySelector("output"));
    this.bar = /** @type {HTMLProgressElement} */ (this.querySelector("progress"));
    this.stop = /** @type {HTMLButtonElement} */ (this.querySelector(".cancel"));
    this.form.addEventListener("submit", (event) => {
      event.preventDefault();
      this.send();
    });
    this.stop.addEventListener("click", () => this.sending?.abort());
  }

  send() {
    const file = /** @type {HTMLInputElement} */ (this.querySelector("input[type=file]")).files?.[0];
    if (!file) return this.say("No file is chosen yet. Choose one first.", true);
    const most = Number(this.getAttribute("most"));
    if (file.size > most) {
      return this.say(`${file.name} has ${megabytes(file.size)}, but ${megabytes(most)} may come in. Free some space first.`, true);
    }
    const sending = (this.sending = new XMLHttpRequest());
    sending.open("POST", `${this.getAttribute("to")}?name=${encodeURIComponent(file.name)}`);
    sending.upload.addEventListener("progress", (event) => this.progress(event, file));
    sending.addEventListener("load", () => this.over(sending));
    sending.addEventListener("error", () => this.fail("The connection was lost; nothing was kept. Send it again."));
    sending.addEventListener("abort", () => this.fail("Stopped as you asked; nothing was kept."));
    this.busy(true);
    this.started = performance.now();
    sending.send(file);
  }

  /** @param {ProgressEvent} event @param {File} file */
  progress(event, file) {
    const bar = /** @type {HTMLProgressElement} */ (this.bar);
    bar.value = event.loaded / file.size;
    const tookS = (performance.now() - (this.started ?? 0)) / 1000;
    const leftS = Math.round((tookS * (file.size - event.loaded)) / Math.max(1, event.loaded));
    const done = `${megabytes(event.loaded)} of ${megabytes(file.size)}`;
    this.say(event.loaded < file.size ? `${done}, about ${leftS} s left` : `${done}; looking at it …`, false);
  }

  /** @param {XMLHttpRequest} sent */
  over(sent) {
    const told = sent.getResponseHeader("content-type")?.startsWith("application/json") ? JSON.parse(sent.responseText) : {};
    if (sent.status !== 201) return this.fail(told.error ?? sent.responseText);
    this.say(`${told.name} is in the bench.`, false);
    this.dispatchEvent(new CustomEvent("farface-uploaded", { bubbles: true, detail: told }));
    this.follow(told.name);
  }

  /** Go on to the page of what came in; a film's frames are made ready at once. @param {string} name */
  async follow(name) {
    const page = `${this.getAttribute("then")}${encodeURIComponent(name)}`;
    if (page.startsWith("/footage/")) await fetch(`${page}/frames`, { method: "POST", redirect: "manual" });
    window.location.assign(page);
  }

  /** @param {string} words */
  fail(words) {
    this.busy(false);
    this.say(words, true);
  }

  /** @param {boolean} on */
  busy(on) {
    /** @type {HTMLProgressElement} */ (this.bar).hidden = !on;
    /** @type {HTMLButtonElement} */ (this.stop).hidden = !on;
    for (const one of this.querySelectorAll("input, button[type=submit]")) {
      /** @type {HTMLInputElement} */ (one).disabled = on;
    }
  }

  /** @param {string} words @param {boolean} wrong */
  say(words, wrong) {
    const out = /** @type {HTMLOutputElement} */ (this.words);
    out.textContent = words;
    out.classList.toggle("error", wrong);
  }
}

/** @param {number} bytes */
function megabytes(bytes) {
  return bytes < 1e9 ? `${(bytes / 1e6).toPrecision(3)} MB` : `${(bytes / 1e9).toPrecision(3)} GB`;
}

customElements.define("farface-upload", FarfaceUpload);
