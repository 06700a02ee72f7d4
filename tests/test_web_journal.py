"""The journal in the browser: search, show, compare, undo; the report on paper; everything packed."""

import io
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from pypdf import PdfReader
from starlette.testclient import TestClient

from browser import picture, serving
from farface.app.bath import explain_bath
from farface.app.coupon import CouponOrder, lay_out_coupon
from farface.app.explain import explain_setting
from farface.app.rig import explain_rig
from farface.app.settings import Typed
from farface.app.workbench import open_workbench
from farface.web.guard import Lock
from farface.web.serve import create_app

ROUNDING_PT = 1.5  # the browser lays paper out in whole pixels
PAPERS = {"A4": (595, 842), "Letter": (612, 792)}


@pytest.fixture
def kept(bench_folder: Path) -> Path:
    """Record a rig twice, a bath, a coupon and an explanation."""
    with open_workbench(bench_folder) as work:
        explain_rig(work, Typed(energy="200 uJ"))
        explain_rig(work, Typed(energy="300 uJ"))
        explain_bath(work)
        lay_out_coupon(work, Typed(), CouponOrder(name="P1", levels=2))
        explain_setting(work, Typed(energy="300 uJ"))
    return bench_folder


@pytest.fixture
def client(kept: Path) -> TestClient:
    client = TestClient(create_app(kept, lock=Lock.at(8123)), base_url="http://127.0.0.1:8123")
    client.get("/look.css")
    return client


@pytest.fixture
def there(kept: Path) -> Iterator[str]:
    with serving(kept) as found:
        yield found


def numbers(client: TestClient, **asked: str) -> list[int]:
    return [one["number"] for one in client.get("/journal.json", params=asked).json()["data"]["records"]]


def test_the_journal_is_searched_by_words_and_kind(client: TestClient) -> None:
    assert numbers(client) == [5, 4, 3, 2, 1]
    assert numbers(client, find="coupon p1") == [4]
    assert numbers(client, kind="rig") == [2, 1]
    assert numbers(client, kind="rig", find="300 uJ") == [2]
    assert numbers(client, before="3") == [2, 1]
    assert numbers(client, find="100%_no such words") == []
    assert client.get("/journal", params={"before": "soon"}).status_code == 422


def test_a_record_shows_its_pictures_and_what_it_rests_on(client: TestClient) -> None:
    told = client.get("/journal/5.json").json()
    assert told["data"]["number"] == 5
    roles = [one["role"] for one in told["data"]["grounds"]]
    assert {"rig", "bath", "picture"} <= set(roles)
    page = client.get("/journal/5").text
    assert page.count("<figure") == 2 and "Section:" in page and "Strip:" in page
    assert client.get("/journal/99").status_code == 404


def test_two_records_are_compared(client: TestClient) -> None:
    told = client.get("/journal/compare.json?which=1&which=2").json()
    where = {one["path"] for one in told["data"]["differences"]}
    assert "data.setting.pulse_energy_j" in where and "kind" not in where
    assert client.get("/journal/compare.json?which=2&which=").json()["data"]["old"] == 1
    assert client.get("/journal/compare").status_code == 404


def test_an_undoing_needs_a_reason_and_stays_on_record(client: TestClient) -> None:
    before = numbers(client)
    refused = client.post("/journal/4/undo", data={"why": "  "})
    assert refused.status_code == 422 and "needs a reason" in refused.text and numbers(client) == before
    assert client.post("/journal/4/undo", data={"why": "the plate cracked"}).status_code == 200
    told = client.get("/journal/4.json").json()["data"]["newer"]
    assert numbers(client) == [told["number"], *before]
    assert "the plate cracked" in client.get(f"/journal/{told['number']}").text
    assert client.get("/coupon/P1").status_code == 404


@pytest.mark.browser
def test_a_person_finds_compares_and_undoes(there: str, open_page: Callable) -> None:
    page = open_page(f"{there}/journal")
    told = page.request.get(f"{there}/journal.json").json()["data"]
    shown = page.get_by_role("list", name="Records, the newest first").get_by_role("link").all_inner_texts()
    assert [words.split(maxsplit=1) for words in shown] == [
        [str(one["number"]), one["title"]] for one in told["records"]
    ]
    picture(page, "journal-light")
    page.get_by_label("Words to find").fill("rig")
    page.get_by_label("Kind").select_option("rig")
    page.get_by_role("button", name="Find").click()
    page.get_by_label("Compare record 1", exact=True).check()
    page.get_by_label("Compare record 2", exact=True).check()
    page.get_by_role("button", name="Compare the two ticked").click()
    page.get_by_role("heading", name="Records 1 and 2").wait_for()
    assert page.get_by_role("cell", name="data.setting.pulse_energy_j").is_visible()
    picture(page, "compare-light")
    page.get_by_role("heading", level=2).get_by_role("link", name="2").click()
    page.get_by_text("Undo this record").click()
    page.get_by_label("Why").fill("wrong energy")
    page.get_by_role("button", name="Undo record 2").click()
    page.get_by_text("wrong energy").first.wait_for()


@pytest.mark.browser
@pytest.mark.parametrize("paper", list(PAPERS))
def test_the_report_is_written_looked_at_and_printed(
    there: str, open_page: Callable, tmp_path: Path, paper: str
) -> None:
    page = open_page(f"{there}/journal/report")
    page.get_by_role("button", name="Write the report").click()
    inside = page.frame_locator("iframe")
    inside.get_by_role("heading", level=1).wait_for()
    chapters = page.request.get(f"{there}/journal/report.json").json()["data"]["chapters"]
    assert [
        one for one in inside.get_by_role("heading", level=2).all_inner_texts() if one in chapters
    ] == chapters
    picture(page, "report-preview")
    page.goto(f"{there}/journal/report/page")
    page.emulate_media(media="print")
    printed = tmp_path / "report.pdf"
    page.pdf(path=printed, format=paper, prefer_css_page_size=False)
    read = PdfReader(printed)
    sides = [float(side) for side in read.pages[0].mediabox[2:]]
    assert sides == pytest.approx(PAPERS[paper], abs=ROUNDING_PT)
    text = " ".join("".join(one.extract_text() for one in read.pages).split())
    assert all(words in text for words in (*chapters, "Cautions", "Sources", "invented data"))
    assert all(one.extract_text().strip() for one in read.pages)  # no page is empty


@pytest.mark.browser
def test_a_person_packs_everything(there: str, open_page: Callable) -> None:
    page = open_page(f"{there}/journal")
    page.get_by_role("button", name="Pack everything").click()
    page.get_by_role("link", name="Save the last ZIP").wait_for(timeout=30_000)
    packed = zipfile.ZipFile(io.BytesIO(page.request.get(f"{there}/journal/export.zip").body()))
    assert {"manifest.json", "records.jsonl"} <= set(packed.namelist())
    assert len(packed.read("records.jsonl").splitlines()) == 5
