"""A bench served on this machine and a browser to walk its pages, for tests.

The browser knows no host but this one, and a page that asks for anything outside, logs an error or breaks
its content policy fails the test that opened it.
"""

import os
import shutil
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from demo_bench import demo_bench

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

    from farface.web.share import Share

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE 127.0.0.2",
)  # fmt: skip
START_S = 20.0
# Pictures of every page go here when the variable names a folder.
PICTURES = os.environ.get("FARFACE_PICTURES")


@contextmanager
def serving(folder: Path, port: int = 0, share: "Share | None" = None) -> Iterator[str]:
    """Serve a bench in a thread, and give its address; a ``port`` of 0 takes a free one.

    ``share`` is a door for phones that stands open beside it.
    """
    import uvicorn

    from farface.web.guard import Lock
    from farface.web.serve import create_app, listening

    with listening(port) as listener:
        port = listener.getsockname()[1]
        app = create_app(folder, lock=Lock.at(port), share=share)
        server = uvicorn.Server(uvicorn.Config(app, log_level="warning", timeout_graceful_shutdown=1))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]}, daemon=True)
        thread.start()
        deadline_s = time.monotonic() + START_S
        while not server.started and time.monotonic() < deadline_s:
            time.sleep(0.02)
        yield f"http://127.0.0.1:{port}"
        server.should_exit = True
        thread.join(START_S)


@pytest.fixture
def bench_folder(tmp_path: Path) -> Path:
    """Lay out the demo's rig, bath and drawing; nothing is recorded yet."""
    return demo_bench(tmp_path / "bench").folder


@pytest.fixture
def address(bench_folder: Path) -> Iterator[str]:
    """Serve that bench."""
    with serving(bench_folder) as found:
        yield found


@pytest.fixture(scope="session")
def walked_bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Walk the whole loop once on the demo: a bench that has records of every kind. Copy it to change it."""
    from farface.app.demo import run_demo

    folder = tmp_path_factory.mktemp("walked") / "bench"
    run_demo(folder, seed=1)
    return folder


@pytest.fixture(scope="session")
def chromium() -> "Iterator[Browser]":
    """Start the browser once; without one the tests are skipped, but not in CI."""
    missing = "no Chromium was found: install Debian's chromium to run the tests of the pages"
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        missing = "playwright is not installed: pip install playwright runs the tests of the pages"
    else:
        if CHROMIUM is not None:
            with sync_playwright() as driver:
                yield driver.chromium.launch(executable_path=CHROMIUM, args=list(FLAGS))
            return
    if os.environ.get("CI") == "true":
        pytest.fail(missing)
    pytest.skip(missing)


@pytest.fixture
def open_page(chromium: "Browser") -> "Iterator[Callable[..., Page]]":
    """Open pages in fresh profiles: ``open_page(address, color_scheme="dark", viewport={…})``."""
    faults: list[str] = []
    contexts = []

    def start(url: str, **options: Any) -> "Page":
        context = chromium.new_context(**{"viewport": {"width": 1200, "height": 900}, **options})
        contexts.append(context)
        page = context.new_page()
        page.faults = faults  # type: ignore[attr-defined]
        page.on("request", lambda sent: _outside(sent.url, url, faults))
        page.on("pageerror", lambda error: faults.append(f"{page.url}: {error}"))
        page.on("console", lambda said: _said_wrong(said) and faults.append(f"{page.url}: {said.text}"))
        page.goto(url)
        return page

    yield start
    for context in contexts:
        context.close()
    assert not faults, "\n".join(faults)


def _said_wrong(said: Any) -> bool:
    """Leave out, by design: a newer request that stops an older one, and a server that has gone."""
    expected = ("htmx:sendAbort", "htmx:afterRequest", "Failed to load resource: net::ERR_CONNECTION_REFUSED")
    return said.type == "error" and not said.text.startswith(expected)


def _outside(asked: str, opened: str, faults: list[str]) -> None:
    own = "/".join(opened.split("/")[:3])
    if not asked.startswith((f"{own}/", "data:", "blob:")):
        faults.append(f"{opened} asked for {asked}")


def picture(page: "Page", name: str) -> None:
    """Keep a picture of a page where ``FARFACE_PICTURES`` names a folder for them."""
    if PICTURES:
        Path(PICTURES).mkdir(parents=True, exist_ok=True)
        page.screenshot(path=Path(PICTURES) / f"{name}.png", full_page=True)
