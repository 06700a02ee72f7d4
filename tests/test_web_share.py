"""The door for phones: outcomes only, behind a code, gone with the program."""

import socket
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import httpx
import pytest

from browser import picture, serving
from farface.app.coupon import CouponOrder, lay_out_coupon
from farface.app.settings import Typed
from farface.app.workbench import open_workbench
from farface.kernel import Malformed, Missing, Refused
from farface.web.listen import network_address, usual_port
from farface.web.serve import bare_app
from farface.web.share import TRIES, Share, sharing, warning

ADDRESS = "127.0.0.2"  # another address of this machine, that stands for one on the network
FINDING = {"column": "seen", "was": "", "now": "steady", "key": "key-00001"}


@pytest.fixture
def plate(bench_folder: Path) -> Path:
    with open_workbench(bench_folder) as work:
        order = CouponOrder(name="P1", x="energy=150 uJ..300 uJ", y="pulses=4..8", levels=2)
        lay_out_coupon(work, Typed(), order)
    return bench_folder


@pytest.fixture
def door(plate: Path) -> Iterator[Share]:
    try:
        with socket.socket() as tried:
            tried.bind((ADDRESS, 0))
    except OSError:
        pytest.skip(f"this system has no second address {ADDRESS} of its own")
    with sharing(plate, None, ADDRESS) as share:
        assert share.server is not None
        for _ in range(200):
            if share.server.started:
                break
            time.sleep(0.02)
        yield share


@pytest.fixture
def phone(door: Share) -> Iterator[httpx.Client]:
    with httpx.Client(base_url=door.url, follow_redirects=False) as client:
        client.get("/look.css")
        yield client


def paired(phone: httpx.Client, door: Share) -> httpx.Client:
    assert phone.post("/pair", data={"code": f" {door.code[:3]} {door.code[3:]} "}).status_code == 303
    return phone


def test_nothing_is_told_before_pairing(phone: httpx.Client, door: Share) -> None:
    for path in ("/outcomes", "/outcomes.json", "/rig", "/journal", "/openapi.json"):
        answer = phone.get(path)
        assert answer.status_code in (303, 401) and "P1" not in answer.text
    assert phone.post("/outcomes/P1/A1", data=FINDING).status_code == 401
    assert door.code not in phone.get("/").text


def test_a_paired_phone_types_outcomes_and_nothing_else(
    phone: httpx.Client, door: Share, plate: Path
) -> None:
    paired(phone, door)
    assert phone.post("/outcomes/P1/A1", data=FINDING).json()["found"]["seen"] == "steady"
    assert b"steady" in (plate / "coupons" / "P1.csv").read_bytes()
    served = bare_app(Path("nowhere")).openapi()["paths"]
    allowed = {"/outcomes", "/outcomes.json", "/outcomes/{plate}/{cell}", "/"}
    for path, methods in served.items():
        for method in methods:
            if path in allowed:
                continue
            answer = phone.request(method, path.replace("{", "").replace("}", ""))
            assert answer.status_code in (404, 405, 422), (method, path)


def test_wrong_codes_close_the_door_until_the_bench_draws_a_new_one(phone: httpx.Client, door: Share) -> None:
    old = door.code
    wrong = "000000" if old != "000000" else "111111"
    for _ in range(TRIES):
        assert phone.post("/pair", data={"code": wrong}).status_code == 422
    assert door.closed and "Too many wrong codes" in phone.get("/").text
    assert phone.post("/pair", data={"code": old}).status_code == 422
    door.renew()
    paired(phone, door)
    assert phone.get("/outcomes").status_code == 200


def test_a_code_that_is_not_of_digits_is_only_wrong(phone: httpx.Client) -> None:
    assert phone.post("/pair", data={"code": "ä\u0000' or 1"}).status_code == 422
    assert phone.post("/pair").status_code == 422


@pytest.mark.parametrize(
    "headers",
    [{"host": "attacker.example"}, {"origin": "http://attacker.example"}, {"origin": "null"},
     {"host": "127.0.0.1:8123"}],
)  # fmt: skip
def test_the_door_has_a_guard_of_its_own(phone: httpx.Client, door: Share, headers: dict[str, str]) -> None:
    paired(phone, door)
    assert phone.post("/outcomes/P1/A1", data=FINDING, headers=headers).status_code == 403


def test_the_door_closes_with_its_context(plate: Path) -> None:
    with sharing(plate, None, ADDRESS) as share:
        url = share.url
    with pytest.raises(httpx.ConnectError):
        httpx.get(url)
    assert not share.open


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("0.0.0.0", Refused),
        ("::", Refused),
        ("224.0.0.1", Refused),
        ("bench.local", Malformed),
        ("", Malformed),
    ],
)
def test_only_one_address_of_a_network_is_taken(text: str, kind: type[Exception]) -> None:
    with pytest.raises(kind):
        network_address(text)


def test_an_address_of_elsewhere_is_said_so(plate: Path) -> None:
    with pytest.raises(Missing, match="network your phone is on"), sharing(plate, None, "192.0.2.7"):
        pass


def test_a_bench_is_found_at_the_same_port_again(tmp_path: Path) -> None:
    assert usual_port(tmp_path) == usual_port(tmp_path / "." / "x" / "..")
    assert usual_port(tmp_path) != usual_port(tmp_path, ADDRESS)


def test_the_warning_says_what_is_exposed(door: Share) -> None:
    said = " ".join(warning(door))
    assert door.url in said and door.code in said and "can read what is sent" in said


@pytest.mark.browser
def test_a_person_pairs_a_phone_and_types(door: Share, plate: Path, open_page: Callable) -> None:
    from playwright.sync_api import expect

    with serving(plate, share=door) as there:
        bench = open_page(f"{there}/")
        banner = bench.get_by_role("complementary", name="Open to phones")
        assert door.url in banner.inner_text()
        picture(bench, "share-banner")
        code = banner.locator(".code").inner_text()
        page = open_page(door.url, viewport={"width": 390, "height": 844}, has_touch=True)
        page.get_by_label("Pairing code").fill(code)
        picture(page, "share-pairing")
        page.get_by_role("button", name="Pair this phone").tap()
        page.get_by_role("radio", name="steady").tap()
        page.get_by_text("1 of 4 cells typed in.").wait_for()
        expect(page.locator("output.unsent")).to_have_text("")
        assert page.get_by_role("navigation", name="Pages").get_by_role("link").all_inner_texts() == [
            "Outcomes"
        ]
        assert page.get_by_role("button", name="Record in the journal").count() == 0
        picture(page, "share-phone")
        bench.goto(f"{there}/outcomes")
        bench.get_by_text("1 of 4 cells typed in.").wait_for()
        page.close()  # or it would ask for news at the door that is closing
        bench.get_by_role("button", name="Close it").click()
        bench.get_by_role("heading", level=1).wait_for()
        assert bench.get_by_role("complementary", name="Open to phones").count() == 0
