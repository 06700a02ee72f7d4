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
