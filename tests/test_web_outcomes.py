"""Outcomes typed in the browser: cell by cell, from two tabs, with the connection lost."""

import csv
import re
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from starlette.testclient import TestClient

from browser import picture, serving
from farface.app.coupon import CouponOrder, lay_out_coupon
from farface.app.settings import Typed
from farface.app.typed_book import TypedBook
from farface.app.typed_outcomes import Finding, Typing, type_finding
from farface.app.workbench import open_workbench
from farface.files.outcomes_file import read_outcomes
from farface.kernel import Malformed, Missing
from farface.web.guard import Lock
from farface.web.serve import create_app

if TYPE_CHECKING:
    from playwright.sync_api import Page


@pytest.fixture
def plate(bench_folder: Path) -> Path:
    """Lay out a plate of four cells."""
    with open_workbench(bench_folder) as work:
        order = CouponOrder(name="P1", x="energy=150 uJ..300 uJ", y="pulses=4..8", levels=2)
        lay_out_coupon(work, Typed(), order)
    return bench_folder


@pytest.fixture
def client(plate: Path) -> TestClient:
    client = TestClient(create_app(plate, lock=Lock.at(8123)), base_url="http://127.0.0.1:8123")
    client.get("/look.css")
    return client


@pytest.fixture
def there(plate: Path) -> Iterator[str]:
    with serving(plate) as found:
        yield found


def write(plate: Path, *, cell: str = "A1", **given: str) -> Typing:
    told = {"column": "seen", "was": "", "now": "steady", "key": "key-00001"} | given
    return type_finding(plate, Finding(plate="P1", cell=cell, **told))


def table(plate: Path) -> dict[str, dict[str, str]]:
    with (plate / "coupons" / "P1.csv").open(newline="") as file:
        return {row["cell"]: row for row in csv.DictReader(file)}


def test_a_finding_changes_its_own_field_and_nothing_else(plate: Path) -> None:
    before = table(plate)
    assert write(plate).state == "saved"
    after = table(plate)
    assert after.pop("A1") == before.pop("A1") | {"seen": "steady"}
    assert after == before


def test_a_change_that_is_sent_twice_counts_once(plate: Path) -> None:
    write(plate)
    assert write(plate, was="steady", now="frosted", key="key-00002").state == "saved"
    again = write(plate)  # the first one comes late, a second time
    assert again.state == "saved" and again.found["seen"] == "frosted"
    assert TypedBook(plate).trail("P1").count(b"\n") == 2


def test_a_stale_write_changes_nothing_and_tells_both_values(plate: Path) -> None:
    write(plate)
    clash = write(plate, now="frosted", key="key-00002")
    assert (clash.state, clash.theirs, clash.yours) == ("clash", "steady", "frosted")
    assert table(plate)["A1"]["seen"] == "steady"


def test_two_who_type_the_same_agree(plate: Path) -> None:
    write(plate)
    assert write(plate, key="key-00002").state == "saved"


def test_many_writers_lose_nothing(plate: Path) -> None:
    cells, words = tuple(table(plate)), ("seen", "note")

    def work(cell: str, column: str) -> None:
        write(plate, cell=cell, column=column, now="steady", key=f"key-{cell}-{column}")

    threads = [threading.Thread(target=work, args=(cell, word)) for cell in cells for word in words]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert all(row["seen"] == row["note"] == "steady" for row in table(plate).values())


@pytest.mark.parametrize(
    ("column", "now", "kept"),
    [("depth_um", "12,5", "12.5"), ("seen", "Burst below", "burst_below"), ("note", " a  b ", "a b"),
     ("whole_after_pass", "3", "3"), ("depth_um", "", "")],
)  # fmt: skip
def test_findings_are_written_as_the_table_has_them(plate: Path, column: str, now: str, kept: str) -> None:
    assert write(plate, column=column, now=now).found[column] == kept


@pytest.mark.parametrize(
    ("given", "kind"),
    [({"column": "depth_um", "now": "deep"}, Malformed), ({"column": "passes", "now": "3"}, Malformed),
     ({"column": "depth_um", "now": "-1"}, Malformed),
     ({"column": "through_by_pass", "now": "2.5"}, Malformed),
     ({"key": ""}, Malformed), ({"cell": "Z9"}, Missing), ({"column": "note", "now": "x" * 501}, Malformed)],
)  # fmt: skip
def test_what_cannot_be_read_is_refused_and_nothing_is_written(
    plate: Path, given: dict[str, str], kind: type[Exception]
) -> None:
    before = table(plate)
    with pytest.raises(kind):
        write(plate, **given)
    assert table(plate) == before


def test_no_name_of_a_plate_leads_out_of_the_bench(client: TestClient) -> None:
    sent = {"column": "seen", "was": "", "now": "steady", "key": "key-00001"}
    for name in ("..%2F..%2Fetc", "nowhere", "%2e%2e", "P1.csv"):
        assert client.post(f"/outcomes/{name}/A1", data=sent).status_code in (404, 405, 422)


def test_recording_takes_the_table_once_and_asks_why_it_changed(client: TestClient, plate: Path) -> None:
    for number, cell in enumerate(table(plate)):
        write(plate, cell=cell, key=f"key-0000{number}")
    assert "teaches the model" in client.get("/outcomes").text
    assert client.get("/learn.json").json()["data"]["unrecorded"] == {"P1": 4}
    assert client.post("/outcomes/P1/record", follow_redirects=False).status_code == 303
    assert client.get("/outcomes.json").json()["data"]["unrecorded"] == []
    again = client.post("/outcomes/P1/record", follow_redirects=False)
    assert again.status_code == 422 and "in the journal already" in again.text
    write(plate, was="steady", now="frosted", key="key-later")
    assert client.get("/outcomes.json").json()["data"]["changed"] == ["A1"]
    refused = client.post("/outcomes/P1/record", follow_redirects=False)
    assert refused.status_code == 422 and "Say why" in refused.text
    client.post("/outcomes/P1/record", data={"why": "looked again"})
    with open_workbench(plate) as work:
        (standing,) = work.journal.standing("outcomes")
        assert standing.reason == "looked again"
        trail = next(item for item in standing.inputs if item.role == "typed")
        assert trail.file and work.journal.content(trail.file) == TypedBook(plate).trail("P1")


def test_recorded_outcomes_come_back_into_an_empty_table(client: TestClient, plate: Path) -> None:
    empty = (plate / "coupons" / "P1.csv").read_bytes()
    write(plate)
    write(plate, column="depth_um", now="40", key="key-00002")
    write(plate, column="depth_method", now="section", key="key-00003")
    client.post("/outcomes/P1/record")
    recorded = read_outcomes(plate / "coupons" / "P1.csv").outcomes
    (plate / "coupons" / "P1.csv").write_bytes(empty)
    assert client.get("/outcomes.json").json()["data"]["only_recorded"] == ["A1"]
    client.post("/outcomes/P1/fill")
    assert read_outcomes(plate / "coupons" / "P1.csv").outcomes == recorded
    assert client.get("/outcomes.json").json()["data"]["unrecorded"] == []


def saved(page: "Page") -> None:
    """Wait until nothing is left to save."""
    from playwright.sync_api import expect

    expect(page.locator("output.unsent")).to_have_text("", timeout=10_000)


def expected(page: "Page", words: str) -> None:
    """Forget what the browser logs of an answer, or of a lack of one, that a test is about."""
    page.faults[:] = [fault for fault in page.faults if words not in fault]  # type: ignore[attr-defined]


def places(page: "Page") -> dict[str, str]:
    """Read the plate's map as a screen reader tells it."""
    links = page.get_by_role("grid", name="Cells of P1").get_by_role("link").all()
    return {(words := str(link.get_attribute("aria-label"))).split(",")[0]: words for link in links}


def tap_on(page: Any) -> None:
    """Go on to the next cell, and look whether it came: on a busy machine a tap may be lost."""
    cell = page.locator(".one-cell .which")
    before = cell.inner_text()
    for _ in range(5):
        page.get_by_role("button", name="Next in the run").tap()
        for _ in range(20):
            if cell.inner_text() != before:
                return
            page.wait_for_timeout(50)
    raise AssertionError(f"Next in the run stays at {before}")


@pytest.mark.browser
def test_a_person_types_a_plate_with_thumbs(there: str, plate: Path, open_page: Callable) -> None:
    page = open_page(f"{there}/outcomes", viewport={"width": 390, "height": 844}, has_touch=True)
    for seen in ("steady", "frosted", "runaway", "nothing"):
        page.get_by_role("radio", name=seen).tap()
        if seen == "steady":
            page.get_by_label("Depth um", exact=True).fill("41,5")
            page.get_by_label("measured by").select_option(label="a cut section (± 2 um)")
        tap_on(page)
    saved(page)
    picture(page, "outcomes-phone")
    told = page.request.get(f"{there}/outcomes.json").json()["data"]["cells"]
    assert [one["found"]["seen"] for one in told] == ["steady", "frosted", "runaway", "nothing"]
    assert (told[0]["found"]["depth_um"], told[0]["found"]["depth_method"]) == ("41.5", "section")
    shown = places(page)
    assert all(one["found"]["seen"] in shown[one["cell"]] for one in told)
    assert "41,5 um" in shown[told[0]["cell"]] or "41.5 um" in shown[told[0]["cell"]]
    page.get_by_role("button", name="Record in the journal").tap()
    page.get_by_text("Everything typed in is recorded.").wait_for()


@pytest.mark.browser
def test_a_person_types_a_plate_with_keys_alone(there: str, open_page: Callable) -> None:
    page = open_page(f"{there}/outcomes?cell=A1")
    page.get_by_role("link", name="A1,").focus()
    for key in ("3", "Enter"):
        page.keyboard.press(key)
    page.keyboard.type("38")
    page.keyboard.press("Tab")
    page.keyboard.press("c")  # chooses "a cut section" in the list
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.type") == "radio"
    page.get_by_role("link", name="A1,").focus()
    for key in ("ArrowRight", "2", "ArrowDown", "5", "ArrowLeft", "1"):
        page.keyboard.press(key)
    saved(page)
    told = page.request.get(f"{there}/outcomes.json").json()["data"]["cells"]
    found = {one["cell"]: one["found"] for one in told}
    assert {cell: one["seen"] for cell, one in found.items()} == {
        "A1": "steady", "A2": "frosted", "B2": "runaway", "B1": "nothing",
    }  # fmt: skip
    assert found["A1"]["depth_um"] == "38"


@pytest.mark.browser
def test_two_tabs_edit_the_same_cell(there: str, plate: Path, open_page: Callable) -> None:
    one, two = (open_page(f"{there}/outcomes?cell=A1") for _ in range(2))
    one.get_by_role("radio", name="steady").check()
    saved(one)
    two.get_by_role("radio", name="frosted").check()
    two.get_by_text("Someone saved “steady” meanwhile; here it says “frosted”.").wait_for()
    assert table(plate)["A1"]["seen"] == "steady"
    expected(two, "409")
    picture(two, "outcomes-clash")
    two.reload()  # neither value is lost
    two.get_by_role("button", name="Keep “frosted”").click()
    saved(two)
    assert table(plate)["A1"]["seen"] == "frosted"
    one.get_by_role("radio", name="runaway").check()
    one.get_by_role("button", name="Take “frosted”").click()
    expected(one, "409")
    saved(one)
    one.get_by_role("radio", name="frosted").wait_for()
    assert one.get_by_role("radio", name="frosted").is_checked() and table(plate)["A1"]["seen"] == "frosted"


@pytest.mark.browser
def test_what_is_typed_elsewhere_is_seen_without_a_reload(
    there: str, plate: Path, open_page: Callable
) -> None:
    page = open_page(f"{there}/outcomes?cell=A1")
    page.get_by_text("0 of 4 cells typed in.").wait_for()
    write(plate, cell="B2", now="frosted")
    page.get_by_text("1 of 4 cells typed in.").wait_for()
    page.get_by_text("1 cell is typed in but not recorded yet").wait_for()
    assert "frosted" in places(page)["B2"]


@pytest.mark.browser
def test_what_was_saved_elsewhere_shows_also_in_the_field_with_the_focus(
    there: str, plate: Path, open_page: Callable
) -> None:
    page = open_page(f"{there}/outcomes?cell=A1")
    depth = page.get_by_label("Depth um", exact=True)
    depth.fill("40")
    depth.press("Home")  # the focus stays
    saved(page)
    write(plate, column="depth_um", was="40", now="42", key="key-phone")
    page.get_by_role("link", name=re.compile("^A1,.*42 um")).wait_for()
    assert depth.input_value() == "42"  # so that what is typed next is typed knowingly


@pytest.mark.browser
def test_the_connection_is_lost_in_mid_typing(plate: Path, open_page: Callable) -> None:
    with serving(plate) as first:
        port = int(first.rpartition(":")[2])
        page = open_page(f"{first}/outcomes?cell=A1")
        page.get_by_role("radio", name="steady").check()
        saved(page)
        page.get_by_label("Depth um", exact=True).press_sequentially("4")
    page.get_by_label("Depth um", exact=True).press_sequentially("2")
    page.get_by_label("measured by").select_option("section")
    page.get_by_role("button", name="Next in the run").click()
    page.get_by_role("radio", name="broken").check()
    page.get_by_text("not saved yet, kept in this browser").wait_for()
    page.get_by_text("farface does not answer").wait_for()
    assert "not saved yet" in places(page)["A1"]
    picture(page, "outcomes-away")
    expected(page, "ERR_CONNECTION_REFUSED")
    expected(page, "htmx:")
    with serving(plate, port=port):
        page.reload()  # with the token of the earlier start forgotten
        saved(page)
        assert table(plate)["A1"]["depth_um"] == "42"
        assert [row["seen"] for row in table(plate).values()].count("broken") == 1
        expected(page, "ERR_CONNECTION_REFUSED")
        expected(page, "403")
        expected(page, "htmx:")


@pytest.mark.browser
def test_a_finding_that_cannot_be_read_stays_in_its_field(
    there: str, plate: Path, open_page: Callable
) -> None:
    page = open_page(f"{there}/outcomes?cell=A1")
    page.get_by_label("Depth um", exact=True).fill("deep")
    page.get_by_label("Depth um", exact=True).press("Tab")
    page.get_by_text("is no number").wait_for()
    page.reload()
    assert page.get_by_label("Depth um", exact=True).input_value() == "deep"
    assert table(plate)["A1"]["depth_um"] == ""
    page.get_by_label("Depth um", exact=True).fill("12")
    page.get_by_label("Depth um", exact=True).press("Tab")
    saved(page)
    assert table(plate)["A1"]["depth_um"] == "12"
    expected(page, "422")
