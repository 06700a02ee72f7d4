"""Check outcomes.csv: every bad cell named, nothing half-read, and what is written reads back."""

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from demo_bench import demo_bench
from farface.app.outcomes import take_outcomes
from farface.app.workbench import open_workbench
from farface.files.outcomes_columns import COLUMNS, DEPTH_SD_M, OPTIONAL
from farface.files.outcomes_file import read_outcomes, write_outcomes, write_outcomes_template
from farface.kernel import Malformed, Missing
from farface.records import SEEN, DepthReading, Outcome, Pierced, Setting

HEADER = ",".join(COLUMNS)
STEADY = "P1,A1,1,200,40,4,15,6,steady,35,4,focus_travel,,,,clear floor"
PIERCED = "P1,A2,2,500,20,4,15,13,runaway,,,,12,13,170,"
BLANK = "P1,A3,3,300,40,4,15,6,,,,,,,,"


def _file(folder: Path, *rows: str, header: str = HEADER, encoding: str = "utf-8") -> Path:
    path = folder / "outcomes.csv"
    path.write_bytes("\r\n".join([header, *rows, ""]).encode(encoding))
    return path


def _refusal(path: Path) -> str:
    with pytest.raises(Malformed) as caught:
        read_outcomes(path)
    return str(caught.value)


def test_reads_what_was_seen_and_counts_what_was_not_run(tmp_path: Path) -> None:
    read = read_outcomes(_file(tmp_path, STEADY, PIERCED, BLANK))
    setting = Setting(pulse_energy_j=200e-6, rate_hz=40e3, pulses_per_point=4, pitch_m=15e-6, passes=6)
    steady = Outcome(
        plate="P1",
        cell="A1",
        order=1,
        setting=setting,
        seen="steady",
        depth=DepthReading(depth_m=35e-6, sd_m=4e-6, method="focus_travel"),
        note="clear floor",
    )
    assert read.outcomes[0] == steady
    assert read.outcomes[1].pierced == Pierced(thickness_m=170e-6, whole_after=12, through_by=13)
    assert len(read.outcomes) == 2
    assert read.blank == 1


@pytest.mark.common_practice
@pytest.mark.parametrize("method", DEPTH_SD_M)
def test_a_depth_without_error_gets_that_of_its_method(tmp_path: Path, method: str) -> None:
    path = _file(tmp_path, f"P1,A1,1,200,40,4,15,6,steady,35,,{method},,,,")
    depth = read_outcomes(path).outcomes[0].depth
    assert depth is not None
    usual_um = {"focus_travel": 5.0, "section": 2.0, "stylus": 0.5, "weight_loss": 5.0, "feel_at_least": 10.0}
    assert depth.sd_m == pytest.approx(usual_um[method] * 1e-6)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_reads_what_spreadsheets_write(tmp_path: Path, encoding: str, delimiter: str) -> None:
    comma = "," if delimiter != "," else "."
    rows = [
        "P1,A1,1,200#5,40,4,15,6,Burst below,35,,section,,,,trüb",
        "P1,A2,2,100,40,4,15,6,nothing,,,,,,,",
    ]
    rows = [row.replace(",", delimiter).replace("#", comma) for row in rows]
    path = _file(tmp_path, *rows, header=HEADER.replace(",", delimiter), encoding=encoding)
    first, second = read_outcomes(path).outcomes
    assert first.setting.pulse_energy_j == 200.5e-6
    assert (first.seen, first.note, second.seen) == ("burst_below", "trüb", "nothing")


def test_names_every_bad_cell_at_once(tmp_path: Path) -> None:
    text = _refusal(
        _file(
            tmp_path,
            STEADY,
            "P1,A2,2,-3,40,4,15,6,steady,,,,,,,",
            "P1,A3,x,200,40 kHz,4.5,15,6,stedy,,,,,,,",
            "",
            "P1,A4,4,200,40,4,15,6,,35,,stylus,,,,",
            "P1,a1,5,200,40,4,15,6,nothing,,,,,,,",
            "P1,A5,6,200,40,4,15",
        )
    )
    expected = [
        "outcomes.csv has 8 bad cells, so nothing was taken from it:",
        "row 3, pulse_energy_uJ: -3 must lie between 0.001 and 1e+07.",
        'row 4, order: "x" is no number.',
        'row 4, rate_kHz: "40 kHz" is no number.',
        "row 4, pulses_per_point: 4.5 is no whole number.",
        'row 4, seen: "stedy" is none of nothing, frosted, steady, burst_below, runaway, broken. '
        "Did you mean steady?",
        "row 6, seen: is blank, but depth_um, depth_method is filled in.",
        "row 7, cell: a1 of plate P1 stands in row 2 already.",
        "row 8, all: it has 7 cells, but the header has 16.",
    ]
    lines = text.splitlines()
    assert len(lines) == len(expected)
    for line, start in zip(lines, expected, strict=True):
        assert line.strip().startswith(start)


@pytest.mark.parametrize(
    ("row", "says"),
    [
        (
            "P1,A1,1,200,40,4,15,13,runaway,,,,13,12,170,",
            "through_by_pass: through by pass 12, yet whole after 13",
        ),
        (
            "P1,A1,1,200,40,4,15,13,runaway,,,,13,13,170,",
            "through_by_pass: through by pass 13, yet whole after 13",
        ),
        ("P1,A1,1,200,40,4,15,6,runaway,,,,12,13,170,", "passes: 6 were run, but pass 13 is named"),
        ("P1,A1,1,200,40,4,15,13,runaway,,,,12,13,,", "sheet_um: is blank"),
        ("P1,A1,1,200,40,4,15,13,steady,35,,by eye,,,,", 'depth_method: "by eye" is none of'),
        ("P1,A1,1,200,40,4,15,13,steady,35,,,,,,", "depth_method: is blank"),
        ("P1,A1,1,200,40,4,15,13,steady,,4,stylus,,,,", "depth_um: is blank, but depth_sd_um is filled in"),
        (",A1,1,200,40,4,15,13,steady,,,,,,,", "plate: is blank"),
        ("P1,A1,1,nan,40,4,15,13,steady,,,,,,,", 'pulse_energy_uJ: "nan" is no number'),
        ("P1,A1,1,1_0,40,4,15,13,steady,,,,,,,", 'pulse_energy_uJ: "1_0" is no number'),
        ("P1,A1,1,0,2,40,4,15,13,steady,,,,,,,", "all: it has 17 cells"),
        ("P1,A1,1,200,40,4,15,13,nothing,35,,stylus,,,,", "seen: is nothing, yet a depth was read"),
        (
            "P1,A1,1,200,40,4,15,13,nothing,,,,12,13,170,",
            "seen: is nothing, yet the sheet was pierced",
        ),
        (
            "P1,A1,1,200,40,4,15,13,steady,180,,stylus,13,,170,",
            "depth_um: is 180 um, but the plate is 170",
        ),
    ],
)
def test_refuses_a_row_that_contradicts_itself(tmp_path: Path, row: str, says: str) -> None:
    assert f"row 2, {says}" in _refusal(_file(tmp_path, row))


def test_a_sheet_never_pierced_has_no_pass_of_piercing(tmp_path: Path) -> None:
    path = _file(tmp_path, "P1,A1,1,200,40,4,15,6,steady,,,,6,,170,")
    assert read_outcomes(path).outcomes[0].pierced == Pierced(
        thickness_m=170e-6, whole_after=6, through_by=None
    )


def test_a_sheet_pierced_by_the_first_pass_was_whole_after_none(tmp_path: Path) -> None:
    path = _file(tmp_path, "P1,A1,1,200,40,4,15,6,runaway,,,,,1,170,")
    assert read_outcomes(path).outcomes[0].pierced == Pierced(thickness_m=170e-6, whole_after=0, through_by=1)


def test_the_manual_lists_every_column_and_class() -> None:
    manual = (Path(__file__).parents[1] / "docs" / "file-formats.md").read_text(encoding="utf-8")
    for word in (*COLUMNS, *OPTIONAL, *SEEN):
        assert f"`{word}`" in manual
    for method, sd_m in DEPTH_SD_M.items():
        assert f"| `{method}` | {sd_m * 1e6:g} um |" in manual


def test_names_columns_that_are_missing_unknown_or_there_twice(tmp_path: Path) -> None:
    header = HEADER.replace("rate_kHz", "rate_khz").replace("note", "seen")
    text = _refusal(_file(tmp_path, STEADY, header=header))
    assert "lacks the column rate_kHz" in text
    assert "has the unknown column rate_khz (did you mean rate_kHz?)" in text
    assert "has the column seen more than once" in text
    assert "lacks the column plate" in _refusal(_file(tmp_path, header=""))


def test_takes_nameless_empty_columns_at_the_right_and_any_order(tmp_path: Path) -> None:
    path = _file(tmp_path, STEADY + ",,", header=HEADER + ",,")
    assert len(read_outcomes(path).outcomes) == 1
    turned = [",".join(reversed(line.split(","))) for line in (HEADER, STEADY)]
    assert read_outcomes(_file(tmp_path, turned[1], header=turned[0])) == read_outcomes(
        _file(tmp_path, STEADY)
    )


def test_refuses_what_is_no_text_or_no_csv_or_not_there(tmp_path: Path) -> None:
    path = tmp_path / "outcomes.csv"
    path.write_bytes(HEADER.encode("utf-16"))
    assert "is no text in UTF-8 or Windows-1252" in _refusal(path)
    assert "is no CSV near line 3" in _refusal(_file(tmp_path, STEADY, 'P1,A2,2,"200'))
    with pytest.raises(Missing, match="There is no file"):
        read_outcomes(tmp_path / "gone.csv")
    with pytest.raises(Missing, match="cannot be read"):
        read_outcomes(tmp_path)


def test_template_waits_to_be_filled_in(tmp_path: Path) -> None:
    path = tmp_path / "outcomes.csv"
    trials = read_outcomes(_file(tmp_path, STEADY, PIERCED)).outcomes
    write_outcomes_template(path, trials, sheet_m=170e-6)
    assert read_outcomes(path).blank == 2
    filled = path.read_text().replace(",,,,,,,170,", ",steady,,,,6,,170,")
    path.write_text(filled)
    assert [outcome.setting for outcome in read_outcomes(path).outcomes] == [
        trial.setting for trial in trials
    ]


def _words(alphabet: str) -> st.SearchStrategy[str]:
    return st.text(alphabet, min_size=1, max_size=8).map(str.strip).filter(bool)


settings = st.builds(
    Setting,
    pulse_energy_j=st.floats(1e-8, 1e-2),
    rate_hz=st.floats(1e2, 1e6),
    pulses_per_point=st.integers(1, 100),
    pitch_m=st.floats(1e-6, 1e-3),
    passes=st.integers(30, 60),
    focus_offset_m=st.just(0.0) | st.floats(-1e-3, 1e-3),
)
depths = st.builds(
    DepthReading,
    depth_m=st.floats(0.0, 1e-3),
    sd_m=st.floats(1e-8, 1e-4),
    method=st.sampled_from(tuple(DEPTH_SD_M)),
)
piercings = st.builds(
    Pierced,
    thickness_m=st.floats(1e-5, 1e-2),
    whole_after=st.integers(0, 14),
    through_by=st.none() | st.integers(15, 30),
)


def _possible(outcome: Outcome) -> bool:
    """Tell whether the findings of an outcome can all be true."""
    depth, pierced = outcome.depth, outcome.pierced
    if outcome.seen == "nothing" and (pierced or (depth and depth.depth_m > 0.0)):
        return False
    return not (depth and pierced and depth.depth_m > 0.99 * pierced.thickness_m)


outcomes = st.builds(
    Outcome,
    plate=_words('P1, ;"é'),
    cell=_words("ABC123"),
    order=st.integers(0, 999),
    setting=settings,
    seen=st.sampled_from(SEEN),
    depth=st.none() | depths,
    pierced=st.none() | piercings,
    note=st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=9).map(
        str.strip
    ),
).filter(_possible)
# One conversion to the column's unit and back, in each of which a float rounds once.
ROUNDING_RELATIVE = 4e-16


@given(outcome=outcomes)
def test_reads_back_what_was_written(tmp_path_factory: pytest.TempPathFactory, outcome: Outcome) -> None:
    path = tmp_path_factory.getbasetemp() / "written.csv"
    write_outcomes(path, [outcome])
    (once,) = read_outcomes(path).outcomes
    assert once.setting.pulse_energy_j == pytest.approx(
        outcome.setting.pulse_energy_j, rel=ROUNDING_RELATIVE, abs=0
    )
    assert replace(once, setting=outcome.setting, depth=None, pierced=None) == replace(
        outcome, depth=None, pierced=None
    )
    write_outcomes(path, [once])
    assert read_outcomes(path).outcomes == (once,)


def test_a_depth_beyond_the_plate_names_its_row_and_stores_nothing(tmp_path: Path) -> None:
    deep = "P1,A2,2,200,40,4,15,13,steady,1200,,stylus,,,,"
    bench = demo_bench(tmp_path / "bench")
    path = _file(tmp_path, STEADY, deep)
    with open_workbench(bench.folder) as work:
        with pytest.raises(Malformed, match=r"row 3, depth_um: is 1200 um, but the plate is 1100 um"):
            take_outcomes(work, path)
        assert work.journal.latest("outcomes") is None
    assert read_outcomes(path).outcomes[1].depth is not None  # a plate of unknown thickness may be so deep


def test_a_photo_beside_the_table_is_kept_with_its_outcome(tmp_path: Path) -> None:
    bench = demo_bench(tmp_path / "bench")
    path = _file(tmp_path, STEADY + ",a1.jpg", header=HEADER + ",photo")
    with open_workbench(bench.folder) as work:
        with pytest.raises(Malformed, match=r'row 2, photo: there is no file "a1.jpg" beside the table'):
            take_outcomes(work, path)
        (tmp_path / "a1.jpg").write_bytes(b"a picture")
        take_outcomes(work, path)
        record = work.journal.latest("outcomes")
        assert record is not None
        (photo,) = (one.file for one in record.inputs if one.role == "photo")
        assert photo is not None and work.journal.content(photo) == b"a picture"
    (outcome,) = read_outcomes(path).outcomes
    write_outcomes(tmp_path / "again.csv", [outcome])
    assert read_outcomes(tmp_path / "again.csv").outcomes == (outcome,)


def test_a_photo_never_reaches_past_the_tables_folder(tmp_path: Path) -> None:
    (tmp_path / "secret.txt").write_text("precious")
    inner = tmp_path / "inner"
    inner.mkdir()
    path = _file(inner, STEADY + ",../secret.txt", header=HEADER + ",photo")
    with pytest.raises(Malformed, match="row 2, photo"):
        read_outcomes(path)
