"""Say where a bench stands in the loop: what was done, what is out of date, what to do next."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

from farface.app.answer import Answer, plain
from farface.app.journal_open import OpenJournal, open_journal
from farface.app.new_bench import begun, look_at_new
from farface.files.bath_file import read_bath
from farface.files.bench_folder import Bench
from farface.files.rig_file import read_rig
from farface.journal import Journal, Record, headings
from farface.kernel import FarfaceError
from farface.report.content import Table

State = Literal["done", "stale", "open"]
RECENT: Final = 8
_RECORD: Final = ("number", "time (UTC)", "kind", "title")


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """Describe one step of the loop: its page, the kinds of record it leaves, and what to do there."""

    word: str
    kinds: tuple[str, ...]
    open_words: str
    rests_on: tuple[str, ...] = ()


# In the order of the loop; a stage is out of date when a record of what it rests on is newer.
STAGES: Final = (
    Stage(word="rig", kinds=("rig",), open_words="Check the rig's numbers and save them."),
    Stage(word="bath", kinds=("bath",), open_words="Check the bath's recipe and save it."),
    Stage(word="window", kinds=("window", "window-prior"), rests_on=("fit",),
          open_words="Look at the window, and keep the map that you choose from."),
    Stage(word="coupon", kinds=("coupon",), open_words="Lay out a first coupon of trial cells."),
    Stage(word="outcomes", kinds=("outcomes",), rests_on=("coupon",),
          open_words="Run the coupon, and type in what you saw in each cell."),
    Stage(word="footage", kinds=("footage",),
          open_words="Film the process, if you have a high-speed camera."),
    Stage(word="learn", kinds=("fit",), rests_on=("outcomes", "footage"),
          open_words="Let the outcomes and films teach the model."),
    Stage(word="next", kinds=("next",), rests_on=("fit",),
          open_words="See which cells would teach most, or go on to a part."),
    Stage(word="part", kinds=("part",), rests_on=("fit",),
          open_words="Turn a drawing into passes."),
)  # fmt: skip
# Without a camera or a second coupon the loop goes on all the same.
_OPTIONAL: Final = ("footage", "next")


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Hold where one stage stands, and why it is out of date where it is."""

    word: str
    state: State
    says: str
    number: int | None = None
    at_utc: str = ""


def look_at_bench(folder: Path, journal: str | None = None) -> Answer:
    """Look at a bench as a whole, also where its rig or bath cannot be read yet."""
    if not begun(folder):
        return look_at_new(folder)
    with open_journal(folder, journal) as opened:
        name, invented, warnings = _rig_and_bath(opened)
        stages = _standings(opened)
        following = _following(stages, opened.places)
        recent = headings(opened.journal, count=RECENT)[::-1]
        rows = tuple(
            (str(one.number), one.at_utc[:16].replace("T", " "), one.kind, one.title) for one in recent
        )
        return Answer(
            title=name,
            sentences=(following.says,),
            tables=(Table(caption="Last records", header=_RECORD, rows=rows),),
            data={
                "folder": str(folder), "invented": invented, "warnings": warnings, "stages": plain(stages),
                "next": following.word, "new": False, "calibrated": opened.journal.latest("fit") is not None,
                "recent": [plain(one) | {"state": one.state} for one in recent],
            },
        )  # fmt: skip


def _rig_and_bath(opened: OpenJournal) -> tuple[str, bool, list[str]]:
    """Give the rig's name, whether anything is invented, and a sentence for each unreadable file."""
    name, invented, warnings = opened.places.folder.resolve().name, False, []
    for read, path in ((read_rig, opened.places.rig), (read_bath, opened.places.bath)):
        try:
            told = read(path)
        except FarfaceError as error:
            warnings.append(str(error))
            continue
        invented = invented or told.invented
        name = told.name if read is read_rig else name
    return name, invented, warnings


def _standings(opened: OpenJournal) -> tuple[Standing, ...]:
    journal, places = opened.journal, opened.places
    now = {role: _sha256(path) for role, path in (("rig", places.rig), ("bath", places.bath))}
    latest = {kind: journal.latest(kind) for stage in STAGES for kind in stage.kinds}
    return tuple(_standing(stage, latest, now, journal) for stage in STAGES)


def _standing(
    stage: Stage, latest: dict[str, Record | None], now: dict[str, str], journal: Journal
) -> Standing:
    found = [record for kind in stage.kinds if (record := latest[kind]) is not None]
    if not found:
        return Standing(word=stage.word, state="open", says=stage.open_words)
    record = max(found, key=lambda one: one.number)
    told = {"word": stage.word, "number": record.number, "at_utc": record.at_utc}
    reason = _outdated(stage, record, latest, now)
    if reason:
        return Standing(state="stale", says=reason, **told)  # type: ignore[arg-type]
    return Standing(state="done", says=_first(record), **told)  # type: ignore[arg-type]


def _outdated(stage: Stage, record: Record, latest: dict[str, Record | None], now: dict[str, str]) -> str:
    """Say what has changed since a record was made; an empty text where nothing has."""
    newer = [
        kind for kind in stage.rests_on
        if (other := latest.get(kind)) is not None and other.number > record.number
    ]  # fmt: skip
    changed = [i.role for i in record.inputs if i.role in now and i.file not in (None, now[i.role])]
    if stage.word in ("rig", "bath"):
        changed = [role for role in changed if role == stage.word]
    elif stage.word in ("coupon", "outcomes", "footage"):
        changed = []  # what was laid out, seen or filmed stays what it was
    if newer:
        words = " and ".join("the fit" if kind == "fit" else kind for kind in newer)
        return f"Older than {words}: do it again."
    if changed:
        return f"{' and '.join(f'{role}.toml' for role in changed)} changed since: do it again."
    return ""


def _following(stages: Sequence[Standing], places: Bench) -> Standing:
    """Choose what to do next: a file that is missing, then the first stage that is out of date or open."""
    for path in (places.rig, places.bath):
        if not path.is_file():
            return Standing(word=path.stem, state="open", says=f"Describe the {path.stem}.")
    for one in stages:
        if one.state == "stale" or (one.state == "open" and one.word not in _OPTIONAL):
            return one
    return Standing(
        word="part", state="done", says="The loop is closed: plan another part, or try the next coupon."
    )


def _first(record: Record) -> str:
    said = record.body.get("sentences") or (record.title,)
    return str(said[0])


def _sha256(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else ""
