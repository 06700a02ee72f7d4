// @ts-check
/** What every page does: tell when the server does not answer, and remember which details are folded. */

const banner = /** @type {HTMLElement} */ (document.getElementById("server-lost"));

/** Show or hide the banner. @param {boolean} lost */
function tellLost(lost) {
  banner.hidden = !lost;
  document.documentElement.classList.toggle("lost", lost);
}

document.addEventListener("htmx:sendError", () => tellLost(true));
document.addEventListener("htmx:afterOnLoad", () => tellLost(false));
document.addEventListener("farface:lost", () => tellLost(true));
document.addEventListener("farface:back", () => tellLost(false));

/** Keep details as the person left them, here in the browser; on a phone they begin folded. @param {ParentNode} root */
function keepDetails(root) {
  const phone = matchMedia("(max-width: 640px)").matches;
  for (const one of root.querySelectorAll("details[data-keep]")) {
    const details = /** @type {HTMLDetailsElement} */ (one);
    const key = `farface-${details.dataset.keep}`;
    details.open = (localStorage.getItem(key) ?? (phone ? "folded" : "open")) === "open";
    details.addEventListener("toggle", () => localStorage.setItem(key, details.open ? "open" : "folded"));
  }
}

document.addEventListener("htmx:afterSwap", (event) => keepDetails(/** @type {HTMLElement} */ (event.target)));
keepDetails(document);
