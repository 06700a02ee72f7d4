"""List every reader of a file that a person may bring, with sound examples to spoil."""

import hashlib
import io
import json
import sqlite3
import zipfile
from contextlib import closing
from itertools import islice
from pathlib import Path
from typing import Final

import ezdxf
import numpy as np
from PIL import Image

from demo_bench import demo_bench
from farface.app.journal_export import export_bench
from farface.app.journal_import import import_bench
from farface.app.journal_open import open_journal
from farface.app.outcomes import take_outcomes
from farface.app.workbench import open_workbench
from farface.files.archive import open_archive
from farface.files.bath_file import read_bath
from farface.files.bench_export import check_members, read_manifest, read_records
from farface.files.drawing import read_drawing
from farface.files.film import open_film
from farface.files.film_write import write_film
from farface.files.journal_address import read_address
from farface.files.outcomes_file import read_outcomes
from farface.files.rig_file import read_rig
from farface.journal import Journal, audit
from fuzzing import Read, Target
from test_journal_exchange import TABLE

FRAMES_READ: Final = 3
AT: Final = "2025-03-01T09:30:00+00:00"
TOML_WORDS: Final = (
    *(b'"""', b"[[", b"]]", b"= {", b"\n[rig]\n", b"+/- ", b"nan", b"inf", b" um", b"\x00", b"\xc2\xb5m"),
)
CSV_WORDS: Final = (b'"', b";", b"\t", b"\r\n", b",,,,", b"\x00", b"\xff\xfe", b"=1+1", b"12,5", b"\n" * 50)
XML_WORDS: Final = (
    b'<!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/hostname">]>',
    *(
        b"&a;",
        b"<g>" * 120,
        b"<!--",
        b"]]>",
        b"<?xml",
        b"translate(nan)",
        b"C 1 2 3",
        b"<style>@import url(x)",
    ),
    *(b'<use href="#well"/>', b'<image href="http://127.0.0.1:9/x"/>', b'transform="scale(1e308)"'),
    *(b'd="M0 0 A 1 1 0 0 1 1e9 0 Z"', b'viewBox="0 0 0 0"'),
)
DXF_WORDS: Final = (
    *(
        b"  0\nEOF\n",
        b"  0\nENDSEC\n",
        b"  0\nSECTION\n",
        b" 70\n4294967295\n",
        b"nan",
        b"1e308",
        b" 42\n1e9\n",
    ),
    *(b"  0\nINSERT\n  2\nunit\n", b"  2\n*Model_Space\n", b"  1\n/etc/hostname\n", b" 71\n99999999\n"),
    *(b"  0\nSPLINE\n", b"210\n0\n220\n0\n230\n0\n", b"$INSUNITS", b"AC1009"),
)
JSON_WORDS: Final = (
    *(b"[" * 3000, b'{"a":' * 500, b"NaN", b"null", b"1e400", b'"\\ud800"', b"\\u0000", b"{}", b'"'),
)
NAMES: Final = ("../evil", "/evil", "C:\\evil", "films/../../evil", "films/x\x00", "con", "a" * 500)
DRAWING: Final = (
    b'<svg xmlns="http://www.w3.org/2000/svg" width="2mm" height="2mm" viewBox="0 0 2 2"><g>'
    b"<title>depth 5 um</title>"
    b'<rect id="well" x="0.5" y="0.5" width="0.3" height="0.3"/><path id="curve" d="M0 0 C 1 0 1 1 0 1 Z"/>'
    b'<circle id="round" cx="1.5" cy="1" r="0.2" transform="rotate(30)"/><use href="#well" x="1"/></g></svg>'
)


def targets(folder: Path) -> list[Target]:
    """Make sound examples in a folder, and give every reader with its own."""
    demo = demo_bench(folder / "demo")
    rig, bath, drawing = (path.read_bytes() for path in (demo.rig, demo.bath, demo.drawings / "chamber.svg"))
    archive = _archive(folder)
    zips = (archive.read_bytes(), *map(_named, NAMES), _link())
    return [
        _target("rig", "rig.toml", read_rig, rig, words=TOML_WORDS),
        _target("bath", "bath.toml", read_bath, bath, words=TOML_WORDS),
        _target("address", "journal.toml", read_address, b'address = "x://y"\n', words=TOML_WORDS),
        _target("outcomes", "P1.csv", read_outcomes, TABLE.encode(), words=CSV_WORDS),
        _target("drawing", "part.svg", read_drawing, DRAWING, drawing, words=XML_WORDS),
        _target("dxf", "part.dxf", read_drawing, _dxf(), words=DXF_WORDS),
        *(_target(f"film-{end}", f"film.{end}", _read_film, one) for end, one in _films(folder).items()),
        _target("zip", "bench.zip", _read_archive, *zips),
        *(
            _target(
                name.partition(".")[0], name, _Packed(name, archive), _member(archive, name), words=JSON_WORDS
            )
            for name in ("manifest.json", "records.jsonl")
        ),
        _target("journal", "journal.sqlite", _read_journal, _journal(folder)),
    ]


def _target(name: str, file: str, read: Read, *examples: bytes, words: tuple[bytes, ...] = ()) -> Target:
    return Target(name=name, file=file, read=read, examples=examples, words=words)


def _dxf() -> bytes:
    """Draw one entity of each kind, and a block in a grid, as DXF."""
    document = ezdxf.new("R2000", units=4)
    block, space = document.blocks.new("unit"), document.modelspace()
    block.add_circle((0, 0), 0.2)
    space.add_blockref("unit", (1, 1), dxfattribs={"row_count": 2, "column_count": 2, "row_spacing": 1.0})
    space.add_line((0, 0), (1, 0), dxfattribs={"layer": "ruling_20um"})
    space.add_arc((3, 3), 1, 10, 80)
    space.add_ellipse((-3, 3), (1, 0), 0.5)
    space.add_lwpolyline([(0, 0, 0.5), (1, 0, 0), (1, 1, 0)], format="xyb", close=True)
    space.add_polyline2d([(0, 4), (1, 5)])
    space.add_open_spline([(0, 0), (1, 2), (2, -2), (3, 0)])
    space.add_text("depth")
    written = io.StringIO()
    document.write(written)
    return written.getvalue().encode()


def _read_film(path: Path) -> None:
    list(islice(open_film(path).frames(), FRAMES_READ))


def _read_archive(path: Path) -> None:
    """Look at all that an archive holds; take it in where it is sound."""
    with open_archive(path) as archive:
        manifest = read_manifest(archive)
        check_members(archive, manifest)
        list(read_records(archive))
    import_bench(path, path.parent / "bench")


class _Packed:
    """Pack one member, spoilt, among sound ones, with a hash that fits, and import that."""

    def __init__(self, name: str, archive: Path) -> None:
        self.name = name
        with zipfile.ZipFile(archive) as opened:
            self.others = {one: opened.read(one) for one in opened.namelist()}

    def __call__(self, path: Path) -> None:
        content = path.read_bytes()
        members = self.others | {self.name: content}
        if self.name != "manifest.json":
            manifest = json.loads(self.others["manifest.json"])
            fits = {"sha256": hashlib.sha256(content).hexdigest(), "bytes": len(content)}
            manifest["members"][self.name] = fits
            members["manifest.json"] = json.dumps(manifest).encode()
        packed = path.with_name("packed.zip")
        with zipfile.ZipFile(packed, "w") as opened:
            for name, one in members.items():
                opened.writestr(name, one)
        import_bench(packed, path.parent / "bench")


def _read_journal(path: Path) -> None:
    for end in ("-wal", "-shm"):
        path.with_name(path.name + end).unlink(missing_ok=True)
    with Journal.open(path) as journal:
        list(audit(journal))
        journal.all()


def _archive(folder: Path) -> Path:
    """Export a small bench."""
    bench = demo_bench(folder / "small")
    table = bench.coupons / "P1.csv"
    table.write_text(TABLE)
    (bench.drawings / "chamber.svg").unlink()
    with open_workbench(bench.folder) as work:
        take_outcomes(work, table)
    with open_journal(bench.folder) as opened:
        export_bench(opened, folder / "small.zip")
    return folder / "small.zip"


def _member(archive: Path, name: str) -> bytes:
    with zipfile.ZipFile(archive) as opened:
        return opened.read(name)


def _named(name: str) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as opened:
        opened.writestr("manifest.json", b"{}")
        opened.writestr(name, b"evil")
    return buffer.getvalue()


def _link() -> bytes:
    buffer = io.BytesIO()
    info = zipfile.ZipInfo("films/link")
    info.external_attr = 0o120777 << 16
    with zipfile.ZipFile(buffer, "w") as opened:
        opened.writestr(info, b"/etc/passwd")
    return buffer.getvalue()


def _films(folder: Path) -> dict[str, bytes]:
    """Write one small film in each format."""
    frames = np.random.default_rng(1).integers(0, 255, (4, 32, 48), dtype=np.uint8)
    write_film(folder / "film.mp4", iter(frames), 25.0)
    np.save(folder / "film.npy", frames)
    first, *rest = (Image.fromarray(frame) for frame in frames)
    first.save(folder / "film.tif", save_all=True, append_images=rest)
    return {end: (folder / f"film.{end}").read_bytes() for end in ("mp4", "npy", "tif")}


def _journal(folder: Path) -> bytes:
    path = folder / "small.sqlite"
    with Journal.open(path) as journal:
        for number in range(3):
            journal.add(kind="rig", title=str(number), body={"x_m": [0.5] * 20}, at_utc=AT)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA journal_mode = DELETE")
    return path.read_bytes()
