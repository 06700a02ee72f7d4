"""The pages of parts: depths by shape, the plan in depth, and the gate before the machine."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from starlette.testclient import TestClient

from browser import picture, serving
from demo_bench import demo_bench
from farface.app.part import plan_part
from farface.app.part_depths import deepened
from farface.app.part_map import averaged_m
from farface.app.part_order import PartOrder
from farface.app.part_page import clearing_request, part_order
from farface.app.settings import Typed
from farface.app.ticks import TickOrder, tick_sheet
from farface.app.workbench import open_workbench
from farface.files.drawing import parse_drawing
from farface.kernel import FarfaceError, Missing, Refused
from farface.web.guard import Lock
from farface.web.serve import create_app

SVG = (
    b'<svg xmlns="http://www.w3.org/2000/svg" width="4mm" height="4mm" viewBox="0 0 4 4">'
    b'<rect id="well" x="1" y="1" width="1" height="1" fill="#888" data-depth-um="60"/>'
    b'<path id="mark" d="M1 3H2.5" fill="none" stroke="#333"/></svg>'
)
TYPED = Typed(energy="300 uJ", rate="40 kHz", pulses=8, pitch="18 um")
DEPTHS = {"mark": "40 um"}
# The same map after float32 and back.
DEPTH_REL = 1e-6
PLAN_MS = 120_000


def lay_out(folder: Path) -> Path:
    bench = demo_bench(folder)
    (bench.drawings / "well.svg").write_bytes(SVG)
    return bench.folder


def plan(folder: Path) -> dict:
    with open_workbench(folder) as work:
        order = PartOrder(drawing=work.places.drawings / "well.svg", depths=DEPTHS, risk=1.0)
        return dict(plan_part(work, TYPED, order).data)


def visitor(folder: Path) -> TestClient:
    client = TestClient(create_app(folder, lock=Lock.at(8123)), base_url="http://127.0.0.1:8123")
    client.get("/look.css")
    return client


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = lay_out(tmp_path_factory.mktemp("part") / "bench")
    plan(folder)
    return folder


def test_depths_go_to_their_shapes_and_no_others() -> None:
    drawing = parse_drawing(SVG)
    assert [shape.depth_m for shape in drawing.shapes] == [pytest.approx(60e-6), None]
    assert [shape.depth_m for shape in deepened(drawing, DEPTHS).shapes] == pytest.approx([60e-6, 40e-6])
    for wrong in ({"wall": "40 um"}, {"well": "-3 um"}, {"well": "deep"}):
        with pytest.raises(FarfaceError):
            deepened(drawing, wrong)


@pytest.mark.exact
@pytest.mark.parametrize(("shape", "factor"), [((7, 9), 2), ((6, 6), 3), ((5, 4), 1), ((3, 8), 4)])
def test_a_coarser_map_holds_the_mean_of_its_cells(shape: tuple[int, int], factor: int) -> None:
    fine = np.random.default_rng(0).random(shape, dtype=np.float32)
    coarse = averaged_m(fine, factor)
    if min(shape) < factor:
        assert coarse.shape == shape
        return
    for row in range(coarse.shape[0]):
        for column in range(coarse.shape[1]):
            block = fine[row * factor : (row + 1) * factor, column * factor : (column + 1) * factor]
            assert coarse[row, column] == pytest.approx(block.mean(), rel=DEPTH_REL)


def test_the_map_of_the_page_is_the_map_of_the_plan(planned: Path) -> None:
    client = visitor(planned)
    answer = client.get("/part/well.svg/map")
    rows, columns = map(int, answer.headers["x-shape"].split(","))
    depth_m = np.frombuffer(answer.content, "<f4").reshape(rows, columns)
    told = client.get("/part/well.svg.json").json()["data"]["plan"]
    assert float(answer.headers["x-cell-m"]) * columns == pytest.approx(1.5e-3, abs=2e-4)
    # Half of the well lies in the middle of its floor, whose depth the first table tells.
    assert np.quantile(depth_m[depth_m > 30e-6], 0.5) == pytest.approx(60e-6, rel=0.15)
    assert told["files"][:2] == ["plan.svg", "depth-picture.png"]
    assert told["cleared"] is None and not told["changed"]


def test_the_twin_tells_what_the_page_shows(planned: Path) -> None:
    client = visitor(planned)
    told = client.get("/part/well.svg.json").json()
    page = client.get("/part/well.svg").text
    assert told["data"]["shapes"][1] == {
        "name": "mark", "kind": "line", "depth_m": None, "typed": "40 um", "drawn": "",
    }  # fmt: skip
    assert told["sentences"][0] in page
    assert 'aria-label="Depth of mark"' in page
    assert all(cell in page for row in told["tables"][0]["rows"] for cell in row[:2])
    assert told["data"]["gate"]["open"] == len(told["data"]["gate"]["items"])


def test_a_slip_stands_beside_its_field_and_nothing_is_lost(planned: Path) -> None:
    sent = {"depth-1": "60", "depth-2": "45 um", "risk": "often", "closely": "1000", "energy": "9 J"}
    answer = visitor(planned).post("/part/well.svg/plan", data=sent)
    assert answer.status_code == 422
    for words in ("has no unit", "no share", "0 to 64", 'value="45 um"', 'value="often"'):
        assert words in answer.text


def test_nothing_leaves_for_a_machine_uncleared(planned: Path) -> None:
    client = visitor(planned)
    for name in ("passes.csv", "plan.svg", "..%2f..%2frig.toml", "%2e%2e%2f%2e%2e%2frig.toml"):
        assert client.get(f"/part/well.svg/files/{name}").status_code == 404
    bare = client.post("/part/well.svg/clear", data={"record": "1"})
    assert (bare.status_code, "No name is given" in bare.text) == (422, True)
    with open_workbench(planned) as work:
        number = str(max(one.number for one in work.journal.standing("part")))
        request = clearing_request(work, "well.svg", number, "N.N.")
        with pytest.raises(Refused, match="unanswered"):  # what the job would say
            plan_part(work, Typed(**request["typed"]), part_order(work, request))
    assert not (planned / "runs" / "well" / "passes.csv").exists()


@pytest.mark.parametrize("drawing", ["nothing.svg", "..%2frig.toml", "%2e%2e%2frig.toml", "well.svg%00"])
def test_only_drawings_of_the_bench_are_found(planned: Path, drawing: str) -> None:
    client = visitor(planned)
    for path in (f"/part/{drawing}", f"/part/{drawing}/map", f"/part/{drawing}/files/plan.svg"):
        assert client.get(path).status_code == 404


def test_a_plan_that_is_out_of_date_says_so_and_is_not_cleared(tmp_path: Path) -> None:
    folder = lay_out(tmp_path / "bench")
    plan(folder)
    client = visitor(folder)
    with open_workbench(folder) as work:
        tick_sheet(work, TickOrder(sheet="set-up", initials="N.N.", everything=True))
        number = str(max(one.number for one in work.journal.standing("part")))
    sent = {"record": "77", "person": "N.N.", "stated": "yes"}
    assert client.post("/part/well.svg/clear", data=sent).status_code == 409
    (folder / "drawings" / "well.svg").write_bytes(SVG.replace(b'"60"', b'"70"'))
    assert "the drawing changed since" in client.get("/part/well.svg").text
    answer = client.post("/part/well.svg/clear", data={**sent, "record": number})
    assert answer.status_code == 409
    assert "the drawing changed since" in answer.text
    with open_workbench(folder) as work, pytest.raises(Missing, match="not up to date"):
        clearing_request(work, "well.svg", number, "N.N.")


def test_a_depth_read_at_a_stop_goes_into_the_plan_of_the_rest(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = lay_out(tmp_path / "bench")
    stop = plan(folder)["stops"][0]
    client, asked = visitor(folder), []
    monkeypatch.setattr("farface.web.pages.part.start_job", lambda *given, **_: asked.append(given[3]))
    assert "No depth was typed" in client.post("/part/well.svg/readings", data={}).text
    assert "no number" in client.post("/part/well.svg/readings", data={"read-0": "deep"}).text
    assert asked == []
    client.post("/part/well.svg/readings", data={"read-0": "30 um +/- 2 um"}, follow_redirects=False)
    assert asked[0]["readings"] == [f"{stop['shape']} after {stop['passes']}: 30 um +/- 2 um"]
    with open_workbench(folder) as work:
        rest = plan_part(work, Typed(**asked[0]["typed"]), part_order(work, asked[0]))
    assert rest.data["passes_run"] > 0
    assert "were run" in client.get("/part/well.svg").text


@pytest.mark.browser
@pytest.mark.slow
def test_a_drawing_is_planned_looked_at_and_cleared(tmp_path: Path, open_page: Callable) -> None:
    bench = demo_bench(tmp_path / "bench")
    (tmp_path / "well.svg").write_bytes(SVG)
    with serving(bench.folder) as address:
        page = open_page(f"{address}/part")
        page.get_by_label("Drawing", exact=True).set_input_files(tmp_path / "well.svg")
        page.get_by_role("button", name="Add this drawing").click()
        page.get_by_role("img", name="Drawing: well").first.wait_for()
        line = page.locator(".wide [data-shape='2']")
        box = line.evaluate("one => one.getBoundingClientRect().toJSON()")
        page.mouse.click(box["x"] + 0.5 * box["width"], box["y"] + 0.5 * box["height"] + 5)  # beside the line
        assert page.get_by_label("Depth of mark").evaluate("one => one === document.activeElement")
        page.keyboard.type("40 um")
        page.get_by_label("Risk accepted").fill("100")
        page.get_by_text("Choose the setting yourself").click()
        page.get_by_label("Pulse energy").fill("300 uJ")
        page.get_by_role("button", name="Plan this part").click()
        page.get_by_role("slider", name="Turn").wait_for(timeout=PLAN_MS)
        told = page.request.get(f"{address}/part/well.svg.json").json()
        assert page.get_by_text(told["sentences"][0]).is_visible()
        look_around(page)
        picture(page, "part-light")
        clear_it(page, told["data"]["gate"]["items"])
        told = page.request.get(f"{address}/part/well.svg.json").json()
        assert told["data"]["plan"]["cleared"]["person"] == "Nobody (a test)"
        with page.expect_download() as saved:
            page.get_by_role("link", name="passes.csv").click()
        assert saved.value.path().read_bytes() == (bench.runs / "well" / "passes.csv").read_bytes()
        dark = open_page(f"{address}/part/well.svg", color_scheme="dark")
        dark.get_by_text("depths are stretched").wait_for()
        picture(dark, "part-dark")


def look_around(page) -> None:  # type: ignore[no-untyped-def]
    """Turn the surface by keys, choose an end of the band, and slice elsewhere: words follow each."""
    words = page.get_by_role("status").filter(has_text="stretched")
    words.wait_for()
    median = words.inner_text()
    page.get_by_role("slider", name="Turn").press("ArrowRight")
    page.get_by_label("Show").select_option("high")
    page.wait_for_function(
        "words => document.querySelector('.depth-words').textContent !== words", arg=median
    )
    cut = page.get_by_role("status").filter(has_text="Slice at")
    before = cut.inner_text()
    page.get_by_role("slider", name="Slice").press("End")
    assert cut.inner_text() != before


def clear_it(page, items: list[dict]) -> None:  # type: ignore[no-untyped-def]
    """Answer every hazard item but one, see that the gate stays shut, answer it, and clear."""
    for item in items[:-1]:
        page.get_by_label(item["text"]).check()
    page.get_by_label("Initials").fill("N.N.")
    page.get_by_role("button", name="Record these answers").click()
    page.get_by_text("(1 open)").wait_for()
    assert page.get_by_role("button", name="Clear plan").is_disabled()
    page.get_by_label("or not needed, because").fill("a test in a browser runs no laser")
    page.get_by_label("Initials").fill("N.N.")
    page.get_by_role("button", name="Record these answers").click()
    page.get_by_text("are answered for today").wait_for()
    page.get_by_label("The laser is class 4").check()
    page.get_by_label("Your name").fill("Nobody (a test)")
    page.get_by_role("button", name="Clear plan").click()
    page.get_by_text("Files for the machine").wait_for(timeout=PLAN_MS)
