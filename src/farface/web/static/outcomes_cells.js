// @ts-check
/** The cells of a plate: which lies beside which, and what the server has of them by now. */

/** @typedef {{cell: string, order: number, row: string, column: number, setting: string,
 *   found: Record<string, string>, lacks: string[]}} Cell */

const STEPS = /** @type {Record<string, [number, number]>} */ ({
  ArrowLeft: [0, -1], ArrowRight: [0, 1], ArrowUp: [-1, 0], ArrowDown: [1, 0],
});

/** Find the cell that an arrow key leads to. @param {Cell[]} cells @param {Cell} here @param {string} key */
export function neighbour(cells, here, key) {
  const step = STEPS[key];
  if (!step) return undefined;
  const rows = [...new Set(cells.map((one) => one.row))].sort((a, b) => a.length - b.length || (a < b ? -1 : 1));
  const row = rows[rows.indexOf(here.row) + step[0]];
  return cells.find((one) => one.row === row && one.column === here.column + step[1]);
}

/** Ask for the cells of a plate that stand otherwise than known; none where the server does not answer.
 * @param {string} plate @param {Cell[]} known */
export async function news(plate, known) {
  try {
    const answer = await fetch(`/outcomes.json?plate=${encodeURIComponent(plate)}`);
    if (!answer.ok) return [];
    document.dispatchEvent(new Event("farface:back"));
    const cells = /** @type {Cell[]} */ ((await answer.json()).data.cells);
    const found = new Map(known.map((one) => [one.cell, JSON.stringify(one.found)]));
    return cells.filter((one) => found.has(one.cell) && found.get(one.cell) !== JSON.stringify(one.found));
  } catch {
    document.dispatchEvent(new Event("farface:lost"));
    return [];
  }
}

/** Mark the chosen cell on the map, and take the focus there if asked.
 * @param {HTMLElement} host @param {string} name @param {boolean} focus */
export function mark(host, name, focus) {
  for (const link of /** @type {NodeListOf<HTMLElement>} */ (host.querySelectorAll(".plate-map a"))) {
    const here = link.dataset.cell === name;
    link.tabIndex = here ? 0 : -1;
    link.parentElement?.setAttribute("aria-selected", String(here));
    if (here && focus) link.focus();
  }
}
