// @ts-check
/** Tie the shapes of a drawing to their rows: a click on one goes to the field of its depth, and back. */

class FarfaceShapes extends HTMLElement {
  connectedCallback() {
    this.addEventListener("click", (event) => {
      const shape = /** @type {Element} */ (event.target).closest("[data-shape]");
      if (shape) this.field(shape.getAttribute("data-shape") ?? "")?.focus();
    });
    this.addEventListener("focusin", (event) => {
      const row = /** @type {Element} */ (event.target).closest("[data-row]");
      if (row) this.light(row.getAttribute("data-row") ?? "");
    });
  }

  /** @param {string} number @returns {HTMLInputElement | null} */
  field(number) {
    return this.querySelector(`[name="depth-${number}"]`);
  }

  /** @param {string} number */
  light(number) {
    for (const one of this.querySelectorAll("[data-shape], [data-row]")) {
      const own = one.getAttribute("data-shape") ?? one.getAttribute("data-row");
      one.classList.toggle("on", own === number);
    }
  }
}

customElements.define("farface-shapes", FarfaceShapes);
