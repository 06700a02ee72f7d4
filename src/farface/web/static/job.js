// @ts-check
/** Follow one job: its words and progress change in place, so that the Stop button stays under the finger. */

const ASK_MS = 500;

class FarfaceJob extends HTMLElement {
  connectedCallback() {
    if (this.getAttribute("state") === "running") this.timer = window.setTimeout(() => this.ask(), ASK_MS);
  }

  disconnectedCallback() {
    window.clearTimeout(this.timer);
  }

  async ask() {
    try {
      const answer = await fetch(`/jobs/${this.getAttribute("job")}.json`);
      if (!answer.ok) throw new Error(String(answer.status));
      this.show((await answer.json()).data.job);
      document.dispatchEvent(new Event("farface:back"));
    } catch {
      document.dispatchEvent(new Event("farface:lost"));
    }
    if (this.isConnected && this.getAttribute("state") === "running") {
      this.timer = window.setTimeout(() => this.ask(), ASK_MS);
    }
  }

  /** @param {{state: string, share: number, words: string}} job */
  show(job) {
    const was = this.getAttribute("state");
    this.setAttribute("state", job.state);
    /** @type {HTMLProgressElement} */ (this.querySelector("progress")).value = job.state === "done" ? 1 : job.share;
    /** @type {HTMLElement} */ (this.querySelector(".state-word")).textContent = job.state;
    /** @type {HTMLElement} */ (this.querySelector(".words")).textContent = job.words;
    /** @type {HTMLElement} */ (this.querySelector("form")).hidden = job.state !== "running";
    if (was === "running" && job.state !== "running") {
      this.dispatchEvent(new CustomEvent("farface-job-over", { bubbles: true, detail: job }));
      if (this.hasAttribute("reload")) window.location.reload();
    }
  }
}

customElements.define("farface-job", FarfaceJob);
