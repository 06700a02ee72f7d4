"""Measure a page as a person meets it: from a moved slider to the map of 200 x 200 painted anew."""

import shutil
import tempfile
import threading
import time
from pathlib import Path
from typing import Any

from benchmarks.row import Row

MOVES = 60
GOAL_S = 0.1
_FLAGS = ("--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking")

# Moves the slider and waits for the frame after the one in which the maps were drawn; milliseconds.
_MOVE = """async (moves) => {
  const slider = document.getElementById('slider');
  const [low, high] = [Number(slider.min), Number(slider.max)];
  const frame = () => new Promise((done) => requestAnimationFrame(done));
  const took = [];
  for (let k = 0; k < moves; k += 1) {
    const from = performance.now();
    slider.value = low + (high - low) * (k % 20) / 20;
    slider.dispatchEvent(new Event('input'));
    await frame();
    await frame();
    took.push(performance.now() - from);
  }
  return took.sort((a, b) => a - b);
}"""
# An empty page's own two frames, which no program can beat.
_IDLE = """async (moves) => {
  const frame = () => new Promise((done) => requestAnimationFrame(done));
  const took = [];
  for (let k = 0; k < moves; k += 1) {
    const from = performance.now();
    await frame();
    await frame();
    took.push(performance.now() - from);
  }
  return took.sort((a, b) => a - b);
}"""


def measure() -> Row:
    """Give the 95th percentile of slider to painted map; the peer is a browser that draws nothing."""
    from farface.app.new_bench import begin_with_demo

    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "bench"
        begin_with_demo(folder)
        moved_s, idle_s = _in_browser(folder)
    return Row(
        name="slider", value=1e3 * moved_s, unit="ms, slider to map, 95 %", peer="two empty frames",
        ratio=moved_s / idle_s, goal=f"value <= {1e3 * GOAL_S:.0f} ms", met=moved_s <= GOAL_S,
    )  # fmt: skip


def _in_browser(folder: Path) -> tuple[float, float]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        path = shutil.which("chromium") or shutil.which("chromium-browser")
        browser = driver.chromium.launch(executable_path=path, args=list(_FLAGS))
        page = browser.new_page(viewport={"width": 1200, "height": 900})
        page.goto(f"{_served(folder)}/window")
        page.locator("#maps[data-ready]").wait_for(timeout=180_000)
        moved, idle = _last(page.evaluate(_MOVE, MOVES)), _last(page.evaluate(_IDLE, MOVES))
        browser.close()
    return moved, idle


def _last(took_ms: list[Any]) -> float:
    return float(took_ms[int(0.95 * len(took_ms))]) * 1e-3


def _served(folder: Path) -> str:
    import uvicorn

    from farface.web.guard import Lock
    from farface.web.serve import create_app, listening

    listener = listening(0)
    port = listener.getsockname()[1]
    app = create_app(folder, lock=Lock.at(port))
    server = uvicorn.Server(uvicorn.Config(app, log_level="warning"))
    threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True).start()
    while not server.started:
        time.sleep(0.02)
    return f"http://127.0.0.1:{port}"
