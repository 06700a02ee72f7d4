"""An empty folder becomes a bench: from the demo, or from one's own numbers and nothing else."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from browser import picture, serving
from farface.app.new_bench import demo_bath, demo_rig
from farface.files.bath_file import read_bath
from farface.files.rig_file import read_rig


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[tuple[Path, str]]:
    with serving(tmp_path / "new") as address:
        yield tmp_path / "new", address


@pytest.mark.browser
def test_the_demo_is_one_button_away_and_says_that_it_is_invented(
    empty: tuple[Path, str], open_page: Callable
) -> None:
    folder, address = empty
    page = open_page(address)
    assert page.get_by_role("heading", level=1).inner_text() == "A new bench"
    assert not folder.exists()
    picture(page, "bench-empty")
    page.get_by_role("button", name="Begin with the invented demo").click()
    page.get_by_text("invented data").first.wait_for()
    assert (folder / "drawings" / "chamber.svg").is_file()
    page.get_by_role("img", name="Section:").first.wait_for()


@pytest.mark.browser
def test_ones_own_rig_takes_no_example_for_a_value(empty: tuple[Path, str], open_page: Callable) -> None:
    folder, address = empty
    page = open_page(address)
    page.get_by_role("link", name="Describe your rig").click()
    picture(page, "rig-empty")
    page.get_by_role("button", name="Save the rig").click()
    page.get_by_text("lacks wavelength in [laser]").wait_for()
    assert not (folder / "rig.toml").exists()
    page.faults.clear()  # the browser notes the 422 as an error
    for name, text in RIG.items():
        page.locator(f"[name={name}]").fill(text)
    page.get_by_role("button", name="Save the rig").click()
    page.get_by_role("heading", name="Your bath").wait_for()
    for name, text in BATH.items():
        page.locator(f"[name={name}]").fill(text)
    page.get_by_role("button", name="Save the bath").click()
    page.get_by_text("Saved in bath.toml and recorded.").wait_for()
    rig, bath = read_rig(folder / "rig.toml"), read_bath(folder / "bath.toml")
    assert (rig.name, rig.invented, rig.camera, rig.spot_radius_m) == ("bench in the shed", False, None, None)
    assert rig.laser == demo_rig().laser
    assert bath.absorption_per_m is None and bath.molar_absorption_m2_per_mol.how == "assumed"
    page.goto(address)
    page.get_by_text("not calibrated: prior only").first.wait_for()
    assert page.get_by_text("invented data").count() == 0


RIG = {
    "rig-name": "bench in the shed", "laser-wavelength": "1064", "laser-pulse_length": "8",
    "laser-rated_power": "30", "laser-rated_energy": "1", "laser-corner_rate": "30", "laser-rate_min": "20",
    "laser-rate_max": "100", "laser-m2": "1.5", "lens-focal_length": "160", "lens-beam_radius": "3.4",
    "plate-thickness": "1", "plate-width": "50", "plate-height": "50", "scanner-field": "110",
    "scanner-mark_speed_max": "2 m/s", "scanner-jump_speed": "3 m/s", "scanner-settle": "50",
    "cell-width": "60", "cell-height": "60", "cell-liquid_depth": "12",
}  # fmt: skip
BATH = {
    "bath-name": "first bath",
    "bath-concentration": "1",
    "bath-acid": "0.5",
    "bath-volume": "50",
    "bath-age": "0",
}


def test_the_demo_files_read() -> None:
    assert demo_rig().invented and demo_bath().invented
