"""The pages of what was learned and of what to run next, on a plate seen by the virtual bench (invented)."""

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from browser import picture, serving
from demo_bench import demo_bench
from farface.app.coupon import CouponOrder, lay_out_coupon
from farface.app.learn import learn_from_bench
from farface.app.next_cells import NextOrder, propose_next
from farface.app.outcomes import take_outcomes
from farface.app.settings import Typed
from farface.app.workbench import open_workbench
from farface.files.outcomes_file import read_outcomes
from farface.web.guard import Lock
from farface.web.serve import create_app

pytestmark = pytest.mark.slow
SEEN = ("nothing", "nothing", "frosted", "steady", "steady", "runaway", "steady", "runaway", "broken")


@pytest.fixture(scope="module")
def taught(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Lay a plate out, say what was seen in it, learn from it in few steps, and ask for the next cells."""
    folder = demo_bench(tmp_path_factory.mktemp("taught") / "bench").folder
    with open_workbench(folder) as work:
        order = CouponOrder(name="P1", x="energy=80 uJ..600 uJ", y="pulses=2..12", levels=3)
        lay_out_coupon(work, Typed(), order)
        table = work.places.coupons / "P1.csv"
        _fill(table)
        take_outcomes(work, table)
        learn_from_bench(work, steps=50)
        propose_next(work, Typed(), NextOrder(depth="60 um", risk=0.4, cells=4))
    return folder


def _fill(table: Path) -> None:
    """Write what is seen by how much energy a point took, the least first."""
    lines = table.read_text().splitlines()
    header = lines[0].split(",")
    rows = [dict(zip(header, line.split(","), strict=True)) for line in lines[1:]]
    ranked = sorted(rows, key=lambda row: float(row["pulse_energy_uJ"]) * float(row["pulses_per_point"]))
    for row, seen in zip(ranked, SEEN, strict=True):
        row["seen"] = seen
    table.write_text("\n".join([lines[0], *(",".join(row[name] for name in header) for row in rows)]))
    assert len(read_outcomes(table).outcomes) == len(SEEN)


@pytest.fixture
def client(taught: Path) -> TestClient:
    client = TestClient(create_app(taught, lock=Lock.at(8123)), base_url="http://127.0.0.1:8123")
    client.get("/look.css")
    return client


@pytest.fixture
def there(taught: Path) -> Iterator[str]:
    with serving(taught) as found:
        yield found


def test_the_page_tells_what_the_record_told(client: TestClient, taught: Path) -> None:
    told = client.get("/learn.json").json()
    with open_workbench(taught) as work:
        fit = work.journal.latest("fit")
    assert fit is not None
    assert told["data"]["fit"] == fit.body["data"] and told["sentences"] == list(fit.body["sentences"])
    assert not told["data"]["stale"] and told["data"]["unrecorded"] == {}
    before = client.get("/bench.json").json()["data"]["recent"][0]["number"]
    seen = client.get("/learn/plates/P1.json").json()["data"]
    assert sorted(seen["seen"].values()) == sorted(SEEN)
    assert all(sum(odds) == pytest.approx(1.0) for odds in seen["odds"].values())
    assert client.get("/bench.json").json()["data"]["recent"][0]["number"] == before


@pytest.mark.parametrize(
    ("slip", "says"),
    [({"depth": "deep"}, "no number"), ({"risk": "200"}, "0 to 100"), ({"cells": "0"}, "1 to 60"),
     ({"rate": "x", "pulses": "many"}, "whole number")],
)  # fmt: skip
def test_a_slip_starts_nothing_and_keeps_what_was_typed(
    client: TestClient, slip: dict[str, str], says: str
) -> None:
    sent = {"depth": "60 um", "risk": "40", "cells": "4", "passes_at_most": "300"} | slip
    answer = client.post("/next", data=sent)
    assert answer.status_code == 422 and says in answer.text
    assert client.get("/jobs.json").json()["data"]["jobs"] == []


def test_a_proposal_is_accepted_cell_by_cell(client: TestClient, taught: Path) -> None:
    data = client.get("/next.json").json()["data"]
    wanted = [data["proposals"][k]["setting"] for k in (0, 2)]
    path = f"/next/{data['record']}/coupon"
    assert "Tick at least one" in client.post(path, data={"name": "P8"}).text
    assert "Tick at least one" in client.post(path, data={"name": "P8", "cell9": "on"}).text
    assert "cannot name" in client.post(path, data={"name": "../P8", "cell1": "on"}).text
    assert client.post(path, data={"name": "P8", "cell1": "on", "cell3": "on"}).status_code == 200
    laid = client.get("/coupon/P8.json").json()["data"]["coupon"]["cells"]
    assert sorted((cell["setting"] for cell in laid), key=str) == sorted(wanted, key=str)


@pytest.mark.browser
def test_a_person_reads_what_was_learned(there: str, open_page: Callable) -> None:
    page = open_page(f"{there}/learn")
    page.get_by_role("img", name="Plate: Plate P1").first.wait_for()
    told = page.request.get(f"{there}/learn.json").json()
    for words in told["sentences"]:
        assert page.get_by_text(words).first.is_visible()
    assert page.get_by_role("img", name="Learned:").first.is_visible()
    links = page.get_by_role("link", name=re.compile("Look at .* of P1 again"))
    assert links.count() == len(told["data"]["fit"]["conflicts"])
    picture(page, "learn-light")


@pytest.mark.browser
def test_a_person_accepts_the_next_cells(there: str, open_page: Callable) -> None:
    page = open_page(f"{there}/next")
    told = page.request.get(f"{there}/next.json").json()["data"]
    for one in told["proposals"]:
        assert page.get_by_text(one["words"]).is_visible() and page.get_by_text(one["why"]).is_visible()
    assert page.get_by_role("img", name="Window:").first.is_visible()
    picture(page, "next-light")
    page.get_by_role("checkbox").first.uncheck()
    page.get_by_label("Name of the plate").fill("P2")
    page.get_by_role("button", name="Lay these cells out").click()
    page.get_by_role("heading", name="Coupon P2").wait_for()
    laid = page.request.get(f"{there}/coupon/P2.json").json()["data"]["coupon"]["cells"]
    assert len(laid) == len(told["proposals"]) - 1


@pytest.mark.browser
def test_learning_runs_as_a_job_that_outlives_a_reload_and_can_be_stopped(
    there: str, open_page: Callable
) -> None:
    page = open_page(f"{there}/learn")
    page.get_by_role("button", name="Learn again from 9 cells").click()
    page.get_by_role("button", name="Stop").wait_for()
    page.reload()
    page.get_by_role("button", name="Stop").click()
    page.get_by_text("Stopped as you asked").wait_for(timeout=20_000)
    told = page.request.get(f"{there}/jobs.json").json()["data"]["jobs"]
    assert [job["state"] for job in told] == ["cancelled"]
