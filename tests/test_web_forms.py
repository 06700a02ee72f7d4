"""The forms of rig and bath: read as the files are, saved whole or not at all, no one's change lost."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from browser import picture
from farface.app.bath_form import bath_groups, read_typed_bath
from farface.app.rig_form import read_typed_rig, rig_groups
from farface.app.typed_fields import group_texts, with_unit
from farface.files.bath_file import read_bath
from farface.files.rig_file import read_rig
from farface.web.guard import Lock
from farface.web.serve import create_app

OURS = "http://127.0.0.1:8123"


@pytest.fixture
def client(bench_folder: Path) -> TestClient:
    client = TestClient(create_app(bench_folder, lock=Lock.at(8123)), base_url=OURS)
    client.headers["origin"] = OURS
    client.get("/look.css")
    return client


def rig_texts(client: TestClient, **changed: str) -> dict[str, str]:
    """Give what the rig's form would send, with some fields typed over."""
    form = client.get("/rig.json").json()["data"]["form"]
    texts = {"version": form["version"]}
    for group in form["groups"]:
        for field in group["fields"]:
            if field["ticked"] is not None:
                texts[field["name"]] = "yes" if field["ticked"] else ""
                continue
            texts[field["name"]] = field["text"]
            if field["sd"] is not None:
                texts |= {field["name"] + "-sd": field["sd"], field["name"] + "-how": field["how"]}
    return texts | changed


@pytest.mark.exact
def test_a_form_left_as_it_is_reads_back_the_very_same_rig(bench_folder: Path) -> None:
    rig = read_rig(bench_folder / "rig.toml")
    for one in (rig, replace(rig, camera=None, spot_radius_m=None)):
        assert read_typed_rig(group_texts(rig_groups(one)), one) == (one, {})


@pytest.mark.exact
def test_a_form_left_as_it_is_reads_back_the_very_same_bath(bench_folder: Path) -> None:
    bath = read_bath(bench_folder / "bath.toml")
    for one in (bath, replace(bath, absorption_per_m=None, age_s=86400.0 / 7.0)):
        assert read_typed_bath(group_texts(bath_groups(one)), one) == (one, {})


@pytest.mark.parametrize(
    ("text", "read"),
    [("1064", "1064 nm"), ("1.064 um", "1.064 um"), (" 2e3 ", "2e3 nm"), ("", ""), ("x", "x")],
)
def test_a_bare_number_takes_the_unit_beside_it(text: str, read: str) -> None:
    assert with_unit(text, "nm") == read


def test_every_wrong_field_has_its_own_sentence_and_the_rest_still_counts(client: TestClient) -> None:
    texts = rig_texts(
        client, **{"laser-wavelength": "10.6 um", "lens-focal_length": "100 kHz", "spot-radius": "40"}
    )
    told = client.get("/rig/try.json", params=texts).json()["data"]
    assert set(told["errors"]) == {"laser-wavelength", "lens-focal_length"}
    assert "between 300 nm and 3000 nm" in told["errors"]["laser-wavelength"]
    assert 'has the unit "kHz"' in told["errors"]["lens-focal_length"]
    assert "12.9 J/cm2" in told["beside"]["spot-radius"]  # 42.8 J/cm2 times (22/40)^2


def test_fields_that_contradict_one_another_are_told(client: TestClient) -> None:
    told = client.get("/rig/try.json", params=rig_texts(client, **{"laser-rated_power": "3 W"})).json()[
        "data"
    ]
    assert "must agree within a quarter" in str(told["errors"])


def test_saving_writes_the_file_keeps_the_old_text_and_records(
    client: TestClient, bench_folder: Path
) -> None:
    old = (bench_folder / "rig.toml").read_bytes()
    texts = rig_texts(client, **{"plate-thickness": "0.9", "plate-thickness-sd": "0.01"})
    answer = client.post("/rig", data=texts, follow_redirects=False)
    assert answer.status_code == 303
    rig = read_rig(bench_folder / "rig.toml")
    assert rig.plate.thickness_m.value == pytest.approx(0.9e-3)
    assert rig.plate.thickness_m.how == "measured"
    kept = [path.read_bytes() for path in (bench_folder / "runs" / "files").rglob("*") if path.is_file()]
    assert old in kept
    # The bath had never been recorded: the first rig that stands beside it takes it along.
    assert [one["kind"] for one in client.get("/bench.json").json()["data"]["recent"]] == ["bath", "rig"]


def test_a_refused_form_comes_back_as_typed_and_writes_nothing(
    client: TestClient, bench_folder: Path
) -> None:
    old = (bench_folder / "rig.toml").read_bytes()
    answer = client.post(
        "/rig", data=rig_texts(client, **{"plate-thickness": "thick", "rig-name": "my <rig>"})
    )
    assert answer.status_code == 422
    assert 'value="thick"' in answer.text
    assert "no number with a unit" in answer.text
    assert "my &lt;rig&gt;" in answer.text
    assert (bench_folder / "rig.toml").read_bytes() == old


def test_two_people_who_edit_see_both_values_and_nothing_is_lost(
    client: TestClient, bench_folder: Path
) -> None:
    mine = rig_texts(client, **{"scanner-settle": "80"})
    theirs = rig_texts(client, **{"scanner-settle": "70"})
    assert client.post("/rig", data=theirs, follow_redirects=False).status_code == 303
    clash = client.post("/rig", data=mine)
    assert clash.status_code == 409
    assert "this is now &#34;70&#34;" in clash.text
    assert 'value="80"' in clash.text
    assert read_rig(bench_folder / "rig.toml").scanner.settle_s == pytest.approx(70e-6)
    again = mine | {"version": rig_texts(client)["version"]}
    assert client.post("/rig", data=again, follow_redirects=False).status_code == 303
    assert read_rig(bench_folder / "rig.toml").scanner.settle_s == pytest.approx(80e-6)


def test_the_bath_is_saved_like_the_rig(client: TestClient, bench_folder: Path) -> None:
    form = client.get("/bath.json").json()["data"]["form"]
    bath = read_bath(bench_folder / "bath.toml")
    texts = group_texts(bath_groups(bath)) | {"version": form["version"], "bath-concentration": "0.5"}
    assert client.post("/bath", data=texts, follow_redirects=False).status_code == 303
    assert read_bath(bench_folder / "bath.toml").copper_mol_per_m3 == pytest.approx(500.0)
    wrong = client.post("/bath", data=texts | {"bath-volume": "a lot"})
    assert wrong.status_code == 409  # the version is the old one


@pytest.mark.browser
def test_what_follows_stands_beside_the_field_as_it_is_typed(address: str, open_page: Callable) -> None:
    page = open_page(f"{address}/rig")
    page.get_by_role("img", name="Section:").first.wait_for()
    picture(page, "rig-new")
    page.get_by_label("Radius", exact=True).fill("44")
    page.get_by_text("brings 10.7 J/cm2").wait_for()
    page.locator("#section-drawn").get_by_text("44.0 ± 1.5 um").first.wait_for()
    page.get_by_label("Radius", exact=True).fill("wide")
    page.get_by_text("which is no number with a unit").wait_for()
    page.get_by_label("Radius", exact=True).fill("30")
    page.get_by_role("button", name="Save the rig").click()
    page.get_by_text("Saved in rig.toml and recorded.").wait_for()
    assert page.get_by_label("Radius", exact=True).input_value() == "30"
