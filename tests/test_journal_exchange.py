"""Check that an export holds everything in open formats, an import gives it back, and conflicts show."""

import csv
import hashlib
import io
import json
import zipfile
from pathlib import Path
from typing import Any

import polars
import pytest

from demo_bench import demo_bench
from farface.app.journal_check import check_journal
from farface.app.journal_export import Selection, export_bench
from farface.app.journal_import import import_bench
from farface.app.journal_open import open_journal
from farface.app.journal_undo import undo
from farface.app.outcomes import take_outcomes
from farface.app.workbench import open_workbench
from farface.files.bench_folder import Bench
from farface.journal import Input, Record
from farface.kernel import FarfaceError, Malformed, Missing, OutOfRange, Refused

AT = "2025-03-01T09:30:00+00:00"
TABLE = (
    "plate,cell,order,pulse_energy_uJ,rate_kHz,pulses_per_point,pitch_um,passes,seen,depth_um,depth_sd_um,"
    "depth_method,whole_after_pass,through_by_pass,sheet_um,note\n"
    "P1,A1,1,200,40,8,18,10,steady,12.5,,section,,,,even\n"
    "P1,A2,2,500,40,8,18,10,broken,,,,,,,\n"
)


@pytest.fixture
def places(tmp_path: Path) -> Bench:
    """Lay out a bench with outcomes, a film and a fit that rests on both."""
    places = demo_bench(tmp_path / "bench")
    (places.films / "one.mp4").write_bytes(b"frames" * 1000)
    table = places.coupons / "P1.csv"
    table.write_text(TABLE)
    with open_workbench(places.folder, seed=7) as work:
        take_outcomes(work, table)
        film = work.keep(places.films / "one.mp4", kind="film")
        work.journal.add(kind="footage", title="film", body={}, at_utc=AT, inputs=(film,))
        (outcomes,) = work.journal.standing("outcomes")
        rests_on = (Input(role="outcomes", record=outcomes.id),)
        work.journal.add(
            kind="fit", title="fit", body={"depth_m": 0.1 + 0.2}, at_utc=AT, seed=7, inputs=rests_on
        )
    return places


def _export(places: Bench, archive: Path, selection: Selection | None = None) -> Path:
    with open_journal(places.folder) as opened:
        export_bench(opened, archive, selection)
    return archive


def _records(folder: Path) -> tuple[Record, ...]:
    with open_journal(folder) as opened:
        assert check_journal(opened).data["faults"] == []
        return opened.journal.all()


def _said(records: tuple[Record, ...]) -> list[str]:
    return [record.sha256 for record in records if record.kind not in ("export", "import")]


def test_an_import_into_a_new_folder_gives_everything_back(places: Bench, tmp_path: Path) -> None:
    archive = _export(places, tmp_path / "bench.zip")
    import_bench(archive, tmp_path / "new")
    before, after = _records(places.folder), _records(tmp_path / "new")
    assert after[:3] == before[:3]
    kept_apart = ("journal.sqlite", "journal.sqlite-wal", "journal.sqlite-shm")
    for source in places.folder.rglob("*"):
        if source.is_file() and source.name not in kept_apart:
            assert (tmp_path / "new" / source.relative_to(places.folder)).read_bytes() == source.read_bytes()
    again = import_bench(archive, tmp_path / "new")
    assert (again.data["added"], again.data["written"], again.data["aside"]) == (0, [], [])
    assert _records(tmp_path / "new") == after


def test_a_second_generation_is_still_the_same(places: Bench, tmp_path: Path) -> None:
    import_bench(_export(places, tmp_path / "one.zip"), tmp_path / "new")
    with open_journal(tmp_path / "new") as opened:
        export_bench(opened, tmp_path / "two.zip")
    import_bench(tmp_path / "two.zip", tmp_path / "newer")
    assert _said(_records(tmp_path / "newer")) == _said(_records(places.folder))


def test_everything_in_an_export_reads_without_farface(places: Bench, tmp_path: Path) -> None:
    with zipfile.ZipFile(_export(places, tmp_path / "bench.zip")) as archive:
        manifest = json.loads(archive.read("manifest.json"))
        for name, member in manifest["members"].items():
            assert hashlib.sha256(archive.read(name)).hexdigest() == member["sha256"]
        assert set(archive.namelist()) == {*manifest["members"], "manifest.json"}
        rows = list(csv.DictReader(io.StringIO(archive.read("outcomes.csv").decode())))
        assert [(row["cell"], row["seen"], float(row["setting_pulse_energy_j"])) for row in rows] == [
            ("A1", "steady", 200e-6),
            ("A2", "broken", 500e-6),
        ]
        frame = polars.read_parquet(io.BytesIO(archive.read("outcomes.parquet")))
        assert frame["depth_depth_m"].to_list() == [12.5e-6, None]
        lines = [json.loads(line) for line in archive.read("records.jsonl").splitlines()]
        assert [line["kind"] for line in lines] == ["outcomes", "footage", "fit"]
        assert lines[2]["body"]["depth_m"] == 0.1 + 0.2
        film = archive.read(manifest["places"]["films/one.mp4"])
        assert film == b"frames" * 1000


def test_a_selection_takes_along_what_it_rests_on(places: Bench, tmp_path: Path) -> None:
    archive = _export(places, tmp_path / "fit.zip", Selection(records=("3",)))
    import_bench(archive, tmp_path / "new")
    assert [record.kind for record in _records(tmp_path / "new")] == ["outcomes", "fit", "import"]
    young = _export(places, tmp_path / "young.zip", Selection(since="2026"))
    with zipfile.ZipFile(young) as opened:
        assert json.loads(opened.read("manifest.json"))["records"] >= 1
    with pytest.raises(Missing, match="No record is of that kind"):
        _export(places, tmp_path / "none.zip", Selection(kinds=("honey",)))


def test_what_was_withdrawn_stays_withdrawn_in_a_selection(places: Bench, tmp_path: Path) -> None:
    with open_journal(places.folder) as opened:
        undo(opened, "1", why="wrong plate")
    import_bench(_export(places, tmp_path / "fit.zip", Selection(records=("3",))), tmp_path / "new")
    with open_journal(tmp_path / "new") as opened:
        assert opened.journal.standing("outcomes") == ()


def test_a_bench_of_ones_own_is_joined_and_never_overwritten(places: Bench, tmp_path: Path) -> None:
    archive = _export(places, tmp_path / "bench.zip")
    other = demo_bench(tmp_path / "other")
    other.rig.write_text(other.rig.read_text() + "# mine\n")
    with open_journal(other.folder) as opened:
        mine = opened.journal.add(kind="rig", title="mine", body={}, at_utc=AT)
    answer = import_bench(archive, other.folder)
    assert answer.data["aside"] == ["runs/imported-bench/rig.toml"]
    assert other.rig.read_text().endswith("# mine\n")
    assert (other.runs / "imported-bench" / "rig.toml").read_bytes() == places.rig.read_bytes()
    after = _records(other.folder)
    assert after[0] == mine
    assert [record.number for record in after] == list(range(1, len(after) + 1))
    assert _said(after)[1:] == _said(_records(places.folder))


def test_two_corrections_of_one_record_are_named_and_kept_apart(places: Bench, tmp_path: Path) -> None:
    import_bench(_export(places, tmp_path / "first.zip"), tmp_path / "twin")
    for folder in (places.folder, tmp_path / "twin"):
        with open_journal(folder) as opened:
            opened.journal.add(
                kind="fit", title=f"of {folder.name}", body={}, at_utc=AT, reason="better",
                supersedes=opened.journal.meant("3").id,
            )  # fmt: skip
    with open_journal(tmp_path / "twin") as opened:
        before = opened.journal.all()
    archive = _export(places, tmp_path / "second.zip")
    with pytest.raises(
        Refused, match=r'"of bench", supersedes a record that record 5 .* "of twin", supersedes'
    ):
        import_bench(archive, tmp_path / "twin")
    assert _records(tmp_path / "twin") == before
    answer = import_bench(archive, tmp_path / "twin", keep_mine=True)
    assert len(answer.data["left_out"]) == 1
    assert "of bench" not in [record.title for record in _records(tmp_path / "twin")]


def test_a_lost_film_is_told_and_does_not_stop_the_rest(places: Bench, tmp_path: Path) -> None:
    with open_journal(places.folder) as opened:
        film = next(file for file in opened.journal.files() if file.kind == "film")
    film.path.unlink()
    (places.films / "one.mp4").unlink()
    with open_journal(places.folder) as opened:
        answer = export_bench(opened, tmp_path / "bench.zip")
    assert "The film one.mp4 is damaged or missing" in answer.sentences[1]
    import_bench(tmp_path / "bench.zip", tmp_path / "new")
    with open_journal(tmp_path / "new") as opened:
        (fault,) = check_journal(opened).data["faults"]
        assert "one.mp4" in fault


def _rewrite(archive: Path, changes: dict[str, bytes | None]) -> Path:
    """Copy an archive with some members changed, and its manifest made to fit them."""
    target = archive.with_name("changed.zip")
    with zipfile.ZipFile(archive) as old, zipfile.ZipFile(target, "w") as new:
        contents = {name: old.read(name) for name in old.namelist()} | changes
        manifest = json.loads(contents["manifest.json"] or b"")
        for name, content in changes.items():
            if content is not None and name in manifest["members"]:
                sha256 = hashlib.sha256(content).hexdigest()
                manifest["members"][name] = {"sha256": sha256, "bytes": len(content)}
        contents["manifest.json"] = json.dumps(manifest).encode()
        for name, content in contents.items():
            if content is not None:
                new.writestr(name, content)
    return target


def _edited(lines: bytes, changes: dict[str, Any]) -> bytes:
    records = [json.loads(line) for line in lines.splitlines()]
    records[0] |= changes
    return "".join(json.dumps(record) + "\n" for record in records).encode()


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"title": "better"}, "was changed after it was written"),
        ({"body": {"x": float("nan")}}, "no JSON"),
        ({"body": "x"}, "not as farface writes it"),
        ({"number": "x"}, "not as farface writes it"),
        ({"inputs": [{"role": "x"}]}, "not as farface writes it"),
    ],
)
def test_a_changed_record_is_refused_and_nothing_taken(
    places: Bench, tmp_path: Path, changes: dict[str, Any], says: str
) -> None:
    archive = _export(places, tmp_path / "bench.zip")
    with zipfile.ZipFile(archive) as opened:
        lines = _edited(opened.read("records.jsonl"), changes)
    with pytest.raises(Malformed, match=says):
        import_bench(_rewrite(archive, {"records.jsonl": lines}), tmp_path / "new")
    if (tmp_path / "new").exists():
        with open_journal(tmp_path / "new") as opened_journal:
            assert opened_journal.journal.all() == ()


def test_a_damaged_member_is_named_before_anything_is_written(places: Bench, tmp_path: Path) -> None:
    archive = _export(places, tmp_path / "bench.zip")
    content = bytearray(archive.read_bytes())
    at = content.index(b"framesframes")
    content[at] ^= 1
    archive.write_bytes(content)
    with pytest.raises(Malformed, match=r"is no ZIP file, or a damaged one|is damaged"):
        import_bench(archive, tmp_path / "new")
    assert not (tmp_path / "new").exists()


OUTSIDE = ("../evil.txt", "films/../../evil.txt", "/tmp/evil.txt", "C:/evil.txt", "films\\..\\..\\evil.txt",
           "films/con", "films/a\x01b", "films//x", "films/x.", "")  # fmt: skip


@pytest.mark.parametrize("name", OUTSIDE[:-1])
def test_a_member_whose_name_leads_out_is_refused(places: Bench, tmp_path: Path, name: str) -> None:
    archive = _export(places, tmp_path / "bench.zip")
    with zipfile.ZipFile(archive, "a") as opened:
        opened.writestr(name, b"evil")
    before = sorted(tmp_path.rglob("*"))
    with pytest.raises(Malformed, match="Nothing was taken from it"):
        import_bench(archive, tmp_path / "new")
    assert sorted(tmp_path.rglob("*")) == before


@pytest.mark.parametrize("name", [*OUTSIDE, "journal.sqlite", "runs/files/x", "notes.txt", "journal.toml"])
def test_a_place_outside_the_bench_is_refused(places: Bench, tmp_path: Path, name: str) -> None:
    archive = _export(places, tmp_path / "bench.zip")
    with zipfile.ZipFile(archive) as opened:
        manifest = json.loads(opened.read("manifest.json"))
    manifest["places"][name] = manifest["places"]["rig.toml"]
    with pytest.raises(Malformed, match="would write"):
        import_bench(_rewrite(archive, {"manifest.json": json.dumps(manifest).encode()}), tmp_path / "new")
    assert not (tmp_path / "evil.txt").exists()
    assert _records(tmp_path / "new") == ()


def test_a_link_in_the_bench_is_not_followed_out_of_it(places: Bench, tmp_path: Path) -> None:
    archive = _export(places, tmp_path / "bench.zip")
    other, outside = demo_bench(tmp_path / "other"), tmp_path / "outside"
    outside.mkdir()
    other.films.rmdir()
    other.films.symlink_to(outside)
    with pytest.raises(Malformed, match="leads out of the bench by a link"):
        import_bench(archive, other.folder)
    assert list(outside.iterdir()) == []


def _with_info(archive: Path, **facts: Any) -> None:
    info = zipfile.ZipInfo("films/link")
    for name, value in facts.items():
        setattr(info, name, value)
    with zipfile.ZipFile(archive, "a") as opened:
        opened.writestr(info, b"/etc/passwd")


def test_links_doubles_and_boasts_in_a_zip_are_refused(places: Bench, tmp_path: Path) -> None:
    def refused(change: Any) -> str:
        archive = _export(places, tmp_path / "bench.zip")
        change(archive)
        with pytest.raises((Malformed, OutOfRange)) as caught:
            import_bench(archive, tmp_path / "new")
        assert not (tmp_path / "new").exists()
        return str(caught.value)

    assert "is a link" in refused(lambda archive: _with_info(archive, external_attr=0o120777 << 16))
    assert "stands there twice" in refused(lambda archive: _add(archive, "RIG.TOML", "rig.toml"))
    assert "compressed in a way" in refused(
        lambda archive: _with_info(archive, compress_type=zipfile.ZIP_BZIP2)
    )
    assert "no export of a bench" in refused(lambda archive: archive.write_bytes(_zip({"a.txt": b"x"})))
    assert "is no ZIP file" in refused(lambda archive: archive.write_bytes(b"a letter" * 100))
    assert "larger than it can be" in refused(_boast)


def _add(archive: Path, *names: str) -> None:
    with zipfile.ZipFile(archive, "a") as opened:
        for name in names:
            opened.writestr(name, b"x")


def _zip(contents: dict[str, bytes]) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as opened:
        for name, content in contents.items():
            opened.writestr(name, content)
    return buffer.getvalue()


def _boast(archive: Path) -> None:
    """Let the manifest's entry in the table of contents claim four gigabytes."""
    content = bytearray(_zip({"manifest.json": b"{}"}))
    at = content.index(b"PK\x01\x02")
    content[at + 24 : at + 28] = (0xFFFFFFF0).to_bytes(4, "little")
    archive.write_bytes(content)


def test_a_later_format_is_refused(places: Bench, tmp_path: Path) -> None:
    archive = _export(places, tmp_path / "bench.zip")
    with zipfile.ZipFile(archive) as opened:
        manifest = json.loads(opened.read("manifest.json"))
    changed = _rewrite(archive, {"manifest.json": json.dumps(manifest | {"format": 2}).encode()})
    with pytest.raises(Refused, match="by a later farface"):
        import_bench(changed, tmp_path / "new")


def test_an_export_that_fails_leaves_the_older_one(places: Bench, tmp_path: Path) -> None:
    archive = _export(places, tmp_path / "bench.zip")
    before = archive.read_bytes()
    with open_journal(places.folder) as opened:
        count = opened.journal.count()
        with pytest.raises(FarfaceError, match="folder does not exist"):
            export_bench(opened, tmp_path / "nowhere" / "bench.zip")
        assert opened.journal.count() == count
    assert archive.read_bytes() == before
    assert not list(tmp_path.glob("*.part"))


def test_a_stopped_import_is_finished_by_repeating_it(
    places: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    archive = _export(places, tmp_path / "bench.zip")

    def stops(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr("farface.app.journal_import.place_files", stops)
        with pytest.raises(KeyboardInterrupt):
            import_bench(archive, tmp_path / "new")
    import_bench(archive, tmp_path / "new")
    assert _said(_records(tmp_path / "new")) == _said(_records(places.folder))
    assert (tmp_path / "new" / "films" / "one.mp4").read_bytes() == b"frames" * 1000
