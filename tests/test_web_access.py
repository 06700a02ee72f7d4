"""Every page can be used by everyone: axe-core finds nothing serious, nothing needs a wide screen."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe

from browser import picture, serving
from farface.web.top_row import TOP_ROW

pytestmark = pytest.mark.browser

PATHS = (*(entry.path for entry in TOP_ROW), "/jobs", "/sources")
SERIOUS = ("serious", "critical", "moderate")
PHONE = {"width": 390, "height": 800}
# A window of 1280 pixels at 200 % zoom shows as many as this.
ZOOMED = {"width": 640, "height": 450}
A4 = {"width": 794, "height": 1123}


@pytest.fixture(scope="module")
def walked(walked_bench: Path) -> Iterator[str]:
    with serving(walked_bench) as address:
        yield address


def settled(page: object) -> None:
    """Wait until the section stands, and the maps where there are some."""
    page.locator("main h1").first.wait_for()
    if page.locator("#section").count():
        page.locator("#section-drawn").wait_for(state="attached", timeout=60_000)
    if page.locator("#maps").count():
        page.locator("#maps[data-shown]").wait_for(timeout=60_000)


@pytest.mark.parametrize("path", PATHS)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_in_light_and_dark(
    walked: str, open_page: Callable, path: str, scheme: str
) -> None:
    page = open_page(walked + path, color_scheme=scheme)
    settled(page)
    picture(page, f"{path.strip('/') or 'bench'}-{scheme}")
    found = Axe().run(page).response["violations"]
    told = [
        f"{one['id']}: {one['help']}: {[node['target'] for node in one['nodes']][:4]}"
        for one in found
        if one["impact"] in SERIOUS
    ]
    assert not told, "\n".join(told)


@pytest.mark.parametrize("path", PATHS)
@pytest.mark.parametrize("size", [PHONE, ZOOMED], ids=["phone", "zoomed"])
def test_no_page_is_wider_than_a_phone_or_a_zoomed_window(
    walked: str, open_page: Callable, path: str, size: dict[str, int]
) -> None:
    page = open_page(walked + path, viewport=size)
    settled(page)
    if size is PHONE:
        picture(page, f"{path.strip('/') or 'bench'}-phone")
    wide = page.evaluate("document.documentElement.scrollWidth")
    assert wide <= size["width"]


@pytest.mark.parametrize("path", PATHS)
def test_every_page_prints_within_a_sheet_without_its_controls(
    walked: str, open_page: Callable, path: str
) -> None:
    page = open_page(walked + path, viewport=A4)
    settled(page)
    page.emulate_media(media="print")
    picture(page, f"{path.strip('/') or 'bench'}-print")
    assert page.evaluate("document.documentElement.scrollWidth") <= A4["width"]
    assert not page.get_by_role("navigation").is_visible()
    assert page.get_by_role("heading", level=1).first.is_visible()


def test_the_keyboard_alone_reaches_the_page_and_its_parts(walked: str, open_page: Callable) -> None:
    page = open_page(walked)
    settled(page)
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip to the page"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.tagName") == "A"
