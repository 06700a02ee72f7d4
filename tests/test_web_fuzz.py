"""Whatever is sent to the pages, by their own description: answers and refusals, never a crash."""

import html.parser
import itertools
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from starlette.testclient import TestClient

from demo_bench import demo_bench
from farface.app import jobs
from farface.app.coupon import CouponOrder, lay_out_coupon
from farface.app.film_frames import make_frames
from farface.app.film_scale import FilmTyped
from farface.app.footage import take_film
from farface.app.part import plan_part
from farface.app.part_order import PartOrder
from farface.app.settings import Typed
from farface.app.workbench import open_workbench
from farface.web.guard import Lock
from farface.web.serve import bare_app, create_app
from test_web_part import SVG, TYPED
from web_film import drawn_film

pytestmark = pytest.mark.slow
EXAMPLES = 12
TURNS = 6  # of odd texts a form is filled with
LOCK = Lock.at(8123)
# What a person's slip, another program or an attacker may send in place of what a field means.
ODD = (
    "", " ", "0", "-1", "1e309", "nan", "99999999999999999999", "300 uJ", "40 kHz", "100 um", "yes", "P1",
    "../rig.toml", "..\\rig.toml", "<script>alert(1)</script>", "' OR 1=1 --", "\u202e\u0000", "ä" * 300,
)  # fmt: skip
# Names that the bench below holds, so that what lies behind a name is reached.
KNOWN = {
    "film": ["steady.mp4", "fresh.mp4"], "drawing": ["well.svg", "chamber.svg"], "plate": ["P1"],
    "name": ["P1", "plan.svg", "set-up", "passes.csv"], "cell": ["A1", "B2"],
    "kind": ["films", "drawings"],
}  # fmt: skip


class _NoProcess:
    """Stand for a process that never ends: what a job does is tested elsewhere."""

    def __init__(self, *_: object, **__: object) -> None: ...

    def poll(self) -> None:
        return None


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """Make a bench on which something of everything was done, and give a visitor to it."""
    places = demo_bench(tmp_path_factory.mktemp("fuzz") / "bench")
    for name in ("steady.mp4", "fresh.mp4"):
        drawn_film(places.films / name)
    make_frames(places.folder, "steady.mp4")
    (places.drawings / "well.svg").write_bytes(SVG)
    with open_workbench(places.folder) as work:
        take_film(work, places.films / "steady.mp4", FilmTyped(), Typed(energy="300 uJ"), plate="P1")
        plan_part(work, TYPED, PartOrder(drawing=places.drawings / "well.svg", depth="40 um", risk=1.0))
        lay_out_coupon(work, Typed(rate="40 kHz"), CouponOrder(name="P1", levels=2))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(jobs.subprocess, "Popen", _NoProcess)
        client = TestClient(create_app(places.folder, lock=LOCK), base_url="http://127.0.0.1:8123")
        client.get("/look.css")
        yield client


class _Fields(html.parser.HTMLParser):
    """Gather the fields of every form on a page, by the form's address."""

    def __init__(self) -> None:
        super().__init__()
        self.forms: dict[str, set[str]] = {}
        self.at: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = dict(attrs)
        if tag == "form":
            self.at = self.forms.setdefault((said.get("action") or "").split("?")[0], set())
        elif tag in ("input", "select", "textarea", "button") and said.get("name"):
            self.at.add(str(said["name"]))


def described() -> dict[str, Any]:
    """Take the pages' own description, and let paths take names that exist as well as any others."""
    told = bare_app(Path("nowhere")).openapi()
    for item in told["paths"].values():
        for operation in item.values():
            for parameter in operation.get("parameters", []):
                known = KNOWN.get(parameter["name"], []) if parameter["in"] == "path" else list(ODD)
                if known and parameter["schema"].get("type") != "integer":
                    parameter["schema"] = {"anyOf": [{"enum": known}, {"enum": known}, {"type": "string"}]}
    return told


SCHEMA = schemathesis.openapi.from_dict(described())


OPERATIONS = {found.ok().label: found.ok() for found in SCHEMA.get_all_operations()}


@pytest.mark.parametrize("label", OPERATIONS)
def test_no_request_by_the_description_crashes(label: str, bench: TestClient) -> None:
    @settings(max_examples=EXAMPLES, deadline=None, derandomize=True, database=None,
              suppress_health_check=list(HealthCheck))  # fmt: skip
    @given(case=OPERATIONS[label].as_strategy())
    def send(case: Any) -> None:
        answer = bench.request(
            case.method, case.formatted_path, params=case.query, content=b"<svg/>", follow_redirects=False
        )
        assert answer.status_code < 500, answer.text

    send()


def forms(bench: TestClient) -> dict[str, list[str]]:
    """Find every form that the pages of this bench offer."""
    found = _Fields()
    names = ("/", "/rig", "/bath", "/window", "/coupon", "/coupon/P1", "/outcomes", "/footage/steady.mp4",
             "/footage/fresh.mp4", "/learn", "/next", "/part/well.svg", "/part/chamber.svg", "/journal",
             "/journal/1", "/journal/report", "/safety", "/safety/sheets/set-up")  # fmt: skip
    for name in names:
        page = bench.get(name)
        assert page.status_code < 500
        found.feed(page.text)
    return {action: sorted(fields) for action, fields in found.forms.items() if action}


def test_no_form_crashes_whatever_is_typed(bench: TestClient) -> None:
    offered = forms(bench)
    assert {"/part/well.svg/plan", "/footage/steady.mp4/read", "/rig", "/bath"} <= set(offered)
    for action, fields in offered.items():
        for turn in range(TURNS):
            # Each turn begins elsewhere in the list, so that every field meets many of its texts.
            mixed = itertools.islice(itertools.cycle(ODD), 7 * turn + len(action), None)
            typed = dict(zip(fields, mixed, strict=False))
            answer = bench.post(action, data=typed, follow_redirects=False)
            assert answer.status_code < 500, (action, typed, answer.text[-400:])
            assert "<script>alert(1)" not in answer.text


def test_a_crash_would_be_seen(bench: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    from farface.web.pages import part

    def broken(*_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(part, "look_at_parts", broken)
    with pytest.raises(ZeroDivisionError):
        bench.get("/part")
