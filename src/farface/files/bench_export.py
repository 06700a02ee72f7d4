"""Describe an exported bench: one ZIP with a manifest, records as JSON, tables, and the original files."""

import json
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, Final, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from farface.files.archive import Archive
from farface.kernel import Malformed, Refused

MANIFEST: Final = "manifest.json"
RECORDS: Final = "records.jsonl"
FORMAT: Final = 1
_WHAT: Final = "farface export"
NOTES: Final = """This is an export of a farface bench: everything in open formats, readable without farface.

manifest.json   every file in here with its SHA-256, and where the files of the bench belong
records.jsonl   the journal: one record a line, JSON in SI units, in the order of writing
*.csv *.parquet the same as tables: records, outcomes, films, flashes, bubbles (SI units)
files/          pictures (SVG, PNG), films, drawings and tables, by the record that rests on them
bench/          the bench's own folder: rig.toml, bath.toml, coupons, films, drawings, runs, reports

`farface journal import THIS.zip --bench FOLDER` makes a bench of it again.
"""

Sha256 = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]


class _Entry(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


class Member(_Entry):
    """Hold the hash and the size of one file in the archive."""

    sha256: Sha256
    bytes: int = Field(ge=0)


class Kept(_Entry):
    """Hold one stored file of the journal; ``member`` is None where its content was lost already."""

    sha256: Sha256
    name: str
    bytes: int = Field(ge=0)
    kind: str
    at_utc: str
    member: str | None


class Manifest(_Entry):
    """Hold what an archive says of itself; ``places`` gives the member for each path in the bench."""

    what: Literal["farface export"] = _WHAT
    format: int = FORMAT
    program_version: str
    made_at_utc: str
    bench: str
    whole: bool
    records: int = Field(ge=0)
    members: Mapping[str, Member]
    files: tuple[Kept, ...]
    places: Mapping[str, str]

    def as_bytes(self) -> bytes:
        """Write the manifest as indented JSON."""
        return (json.dumps(self.model_dump(mode="json"), indent=1, ensure_ascii=False) + "\n").encode()


def read_manifest(archive: Archive) -> Manifest:
    """Read and check what an archive says of itself.

    Raises `Malformed` for an archive that farface did not write or that contradicts itself, `Refused` for
    one of a later farface.
    """
    file = archive.path.name
    if MANIFEST not in archive.names():
        raise Malformed(f"{file} holds no {MANIFEST}, so it is no export of a bench. Name another file.")
    given = _json(archive.read(MANIFEST), f"{MANIFEST} in {file}")
    if isinstance(given, dict) and isinstance(given.get("format"), int) and given["format"] > FORMAT:
        raise Refused(f"{file} was exported by a later farface. Import it with that one, or a newer one.")
    try:
        manifest = Manifest.model_validate_json(json.dumps(given))
    except (ValidationError, ValueError) as error:
        where = ".".join(map(str, error.errors()[0]["loc"])) if isinstance(error, ValidationError) else "it"
        raise Malformed(
            f"{MANIFEST} in {file} is not as farface writes it: see {where}. Export again."
        ) from error
    named = {*(kept.member for kept in manifest.files if kept.member), *manifest.places.values(), RECORDS}
    missing = sorted(named - manifest.members.keys()) or sorted(manifest.members.keys() - archive.names())
    if missing:
        raise Malformed(f"{file} lacks {missing[0]}, which its manifest names. Export again.")
    return manifest


def read_records(archive: Archive) -> Iterator[dict[str, Any]]:
    """Read the records of an archive one by one, as plain JSON."""
    for number, line in enumerate(archive.lines(RECORDS), start=1):
        content = _json(line, f"line {number} of {RECORDS} in {archive.path.name}")
        if not isinstance(content, dict):
            raise Malformed(f"Line {number} of {RECORDS} in {archive.path.name} is no record. Export again.")
        yield content


def check_members(archive: Archive, manifest: Manifest) -> None:
    """Read every member through; `Malformed` names the first whose content is not what the manifest says."""
    for name, member in manifest.members.items():
        if archive.sha256(name) != member.sha256:
            raise Malformed(
                f"{name} in {archive.path.name} is damaged: its hash is not the one of the manifest. Get the "
                "archive again."
            )


def _json(text: bytes, what: str) -> Any:
    try:
        return json.loads(text, parse_constant=_refuse_constant)
    except (ValueError, RecursionError) as error:
        raise Malformed(f"{what} is no JSON. Export again.") from error


def _refuse_constant(name: str) -> None:
    raise ValueError(f"{name} is no number of JSON")
