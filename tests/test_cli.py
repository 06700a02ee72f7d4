"""The commands as a person runs them: exit codes, sentences, JSON."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from demo_bench import demo_bench

RUN = (sys.executable, "-c", "from farface.cli.main import run; run()")


def farface(*arguments: str | Path, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [*RUN, *map(str, arguments)], capture_output=True, text=True, cwd=cwd, check=False, timeout=120
    )


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return demo_bench(tmp_path_factory.mktemp("cli") / "bench").folder


def refused(done: subprocess.CompletedProcess[str]) -> str:
    """Return the sentence of a refusal: one line on standard error, nothing else, code 2."""
    assert done.returncode == 2, done.stderr
    assert done.stdout == ""
    (line,) = done.stderr.strip().splitlines()
    assert line.startswith("farface: ")
    return line


def test_help_names_every_command() -> None:
    shown = farface("--help").stdout
    for name in ("demo", "rig", "bath", "window", "explain", "coupon", "outcomes", "footage", "learn", "next",
                 "part", "report"):  # fmt: skip
        assert f" {name} " in shown


def test_rig_tells_how_far_to_lower_the_lens(bench: Path) -> None:
    done = farface("rig", "--bench", bench)
    assert done.returncode == 0, done.stderr
    # 1.1 mm over the index 1.462 of the plate.
    assert "lower the lens by 752.3 um" in done.stdout.replace("\n", " ")


def test_json_is_whole_and_in_si(bench: Path) -> None:
    told = json.loads(farface("bath", "--bench", bench, "--json").stdout)
    assert told["data"]["absorption_per_m"] == {"value": 1020.0, "sd": 60.0, "how": "measured"}
    assert told["data"]["salt_kg"] == pytest.approx(12.484e-3, rel=1e-3)


def test_a_bench_is_made_only_in_a_folder_of_its_own(tmp_path: Path) -> None:
    (tmp_path / "thesis.txt").write_text("precious")
    assert "holds other things" in refused(farface("demo", tmp_path))
    assert (tmp_path / "thesis.txt").read_text() == "precious"


def test_a_folder_that_is_no_bench_is_refused(tmp_path: Path) -> None:
    assert "no bench" in refused(farface("rig", "--bench", tmp_path))


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('thickness = "1.1 mm', 'thickness = "40 khz', "thickness"),
        ('rated_energy = "1 mJ"', 'rated_energy = "-1 mJ"', "rated_energy"),
        ('thickness = "1.1 mm', 'thickness = "3 m', "thickness"),
        ("m2 = 1.5", "m2 = 1.5\ncolour = 3", "colour"),
    ],
)
def test_a_wrong_rig_is_named_by_key(tmp_path: Path, old: str, new: str, words: str) -> None:
    places = demo_bench(tmp_path / "bench")
    text = places.rig.read_text()
    assert old in text
    places.rig.write_text(text.replace(old, new))
    sentence = refused(farface("rig", "--bench", places.folder))
    assert "rig.toml" in sentence
    assert words in sentence


def test_a_table_without_a_column_is_refused_whole(bench: Path, tmp_path: Path) -> None:
    table = tmp_path / "half.csv"
    table.write_text("plate,cell,order\nP1,A1,1\n")
    assert "pulse_energy_uJ" in refused(farface("outcomes", table, "--bench", bench))


def test_a_film_that_is_none_is_refused(bench: Path, tmp_path: Path) -> None:
    film = tmp_path / "film.mp4"
    film.write_bytes(b"\x00\x00\x00\x18ftypmp42" + bytes(200))
    assert "film.mp4" in refused(farface("footage", film, "--bench", bench))


def test_a_drawing_with_nothing_to_etch_is_refused(bench: Path, tmp_path: Path) -> None:
    drawing = tmp_path / "empty.svg"
    drawing.write_text('<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9"/>')
    assert "nothing to etch" in refused(farface("part", drawing, "--bench", bench))


def test_an_unknown_option_ends_with_code_2(bench: Path) -> None:
    assert farface("rig", "--bench", bench, "--colour").returncode == 2
