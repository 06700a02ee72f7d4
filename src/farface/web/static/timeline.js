// @ts-check
/** Follow the film on its timeline: a line marks the frame shown, a click goes to a time or to a bubble. */

const SVG = "http://www.w3.org/2000/svg";

class FarfaceTimeline extends HTMLElement {
  connectedCallback() {
    this.addEventListener("click", (event) => this.clicked(event));
    document.addEventListener("farface:frame", (event) => this.mark(/** @type {CustomEvent} */ (event).detail.timeMs));
  }

  /** @param {MouseEvent} event */
  clicked(event) {
    const target = /** @type {Element} */ (event.target);
    const bubble = target.closest("[data-bubble]")?.getAttribute("data-bubble");
    const svg = target.closest("svg");
    const plot = svg?.querySelector("[data-low-ms]");
    if (!svg || !plot) return;
    if (bubble) {
      const address = new URL(window.location.href);
      address.searchParams.set("bubble", bubble);
      window.location.assign(address);
      return;
    }
    const box = plot.getBoundingClientRect();
    const share = (event.clientX - box.left) / box.width;
    const [low, high] = ["data-low-ms", "data-high-ms"].map((name) => Number(plot.getAttribute(name)));
    const frame = Math.round((low + share * (high - low)) * 1e-3 * Number(this.getAttribute("frame-hz")));
    if (share >= 0 && share <= 1) document.dispatchEvent(new CustomEvent("farface:seek", { detail: frame }));
  }

  /** @param {number} timeMs */
  mark(timeMs) {
    for (const plot of this.querySelectorAll("[data-low-ms]")) {
      const svg = /** @type {SVGElement} */ (plot.closest("svg"));
      let line = svg.querySelector(".ff-now");
      if (!line) {
        line = document.createElementNS(SVG, "line");
        line.setAttribute("class", "ff-now ff-accent-line");
        line.setAttribute("pointer-events", "none");
        svg.append(line);
      }
      const [low, high, left, wide, top, tall] = ["data-low-ms", "data-high-ms", "x", "width", "y", "height"].map((name) => Number(plot.getAttribute(name)));
      const x = left + (wide * (timeMs - low)) / (high - low);
      for (const [name, value] of [["x1", x], ["x2", x], ["y1", top], ["y2", top + tall]]) line.setAttribute(String(name), String(value));
    }
  }
}

customElements.define("farface-timeline", FarfaceTimeline);
