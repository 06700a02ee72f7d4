"""Read and write outcomes.csv, what the person saw in the cells of a coupon."""

import csv
import io
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from farface.files.atomic import write_atomically
from farface.files.csv_cells import RowCells
from farface.files.csv_text import CsvRow, CsvText, read_csv
from farface.files.known_text import write_number
from farface.files.outcomes_columns import (
    COLUMNS,
    DEPTH,
    DEPTH_SD,
    DEPTH_SD_M,
    FOCUS_OFFSET,
    FOUND,
    OPTIONAL,
    ORDER,
    PASSES,
    PHOTO,
    PITCH,
    PULSE_ENERGY,
    PULSES_PER_POINT,
    RATE,
    SHEET,
    THROUGH_BY,
    WHOLE_AFTER,
    Measure,
)
from farface.kernel import Malformed
from farface.records import SEEN, DepthReading, Outcome, Pierced, Setting


@dataclass(frozen=True, slots=True, kw_only=True)
class OutcomesRead:
    """Hold the outcomes of a file, and how many of its cells were not run yet: their ``seen`` is blank."""

    outcomes: tuple[Outcome, ...]
    blank: int


class Trial(Protocol):
    """Name what a row needs before anything was seen; an `Outcome` has it too."""

    @property
    def plate(self) -> str:
        """Name the plate."""

    @property
    def cell(self) -> str:
        """Name the cell as it is engraved."""

    @property
    def order(self) -> int:
        """Give the cell's turn in the run."""

    @property
    def setting(self) -> Setting:
        """Give the knobs."""


def read_outcomes(path: Path, *, deepest_m: float | None = None) -> OutcomesRead:
    """Read every outcome, or none: `Malformed` lists each bad cell with its row, its column and what to do.

    A depth without a standard deviation gets that of its method, `DEPTH_SD_M`. ``deepest_m`` is the plate's
    thickness, if known: no depth lies beyond it. Rows are numbered as a
    spreadsheet shows them.
    """
    table = read_csv(path, columns=COLUMNS, optional=OPTIONAL)
    outcomes: list[Outcome] = []
    faults: list[str] = []
    first_rows: dict[tuple[str, str], int] = {}
    for line in table.rows:
        cells = _cells(line, table)
        outcome = _read_row(cells, first_rows, deepest_m) if not cells.faults else None
        if outcome is not None and outcome.photo and not photo_of(path, outcome).is_file():
            cells.fault(
                PHOTO, f'there is no file "{outcome.photo}" beside the table. Put it there, or clear it.'
            )
        faults += cells.faults
        outcomes += [outcome] if outcome else []
    if faults:
        listed = "".join(f"\n  {fault}" for fault in faults)
        cells_are = "1 bad cell" if len(faults) == 1 else f"{len(faults)} bad cells"
        raise Malformed(f"{path.name} has {cells_are}, so nothing was taken from it:{listed}")
    return OutcomesRead(outcomes=tuple(outcomes), blank=len(table.rows) - len(outcomes))


def photo_of(path: Path, outcome: Outcome) -> Path:
    """Give the place of a cell's photo: beside the table, whatever folders its name may hold."""
    return path.parent / Path(outcome.photo).name


def row_faults(named: Mapping[str, str], *, decimal_comma: bool = False) -> list[str]:
    """Say what is wrong with one row, by column, or still missing in it."""
    cells = RowCells(named, row=0, decimal_comma=decimal_comma)
    _read_row(cells, {}, None)
    return cells.faults


def findings_of(outcome: Outcome) -> dict[str, str]:
    """Write what was found as a row of the table holds it."""
    return _found(outcome)


def write_outcomes(path: Path, outcomes: Iterable[Outcome]) -> None:
    """Write outcomes so that `read_outcomes` gives them back."""
    _write(path, [_given(outcome) | _found(outcome) for outcome in outcomes])


def write_outcomes_template(path: Path, trials: Iterable[Trial], *, sheet_m: float | None = None) -> None:
    """Write a row for each trial with its findings left blank; ``sheet_m`` fills in a known thickness."""
    sheet = {} if sheet_m is None else {SHEET.name: write_number(sheet_m, SHEET.factor)}
    _write(path, [_given(trial) | sheet for trial in trials])


def _cells(line: CsvRow, table: CsvText) -> RowCells:
    """Give each cell its column; a row of another length was cut off or holds a stray delimiter."""
    named = dict(zip(table.columns, line.cells, strict=False))
    cells = RowCells(named, row=line.number, decimal_comma=table.decimal_comma)
    given = len(line.cells)
    if given != table.width or any(line.cells[len(table.columns) :]):
        cells.fault("all", f"it has {given} cells, but the header has {table.width}. Complete or correct it.")
    return cells


def _read_row(
    cells: RowCells, first_rows: dict[tuple[str, str], int], deepest_m: float | None
) -> Outcome | None:
    """Read one row; None when it was not run yet or holds a fault."""
    plate, cell = cells.text("plate"), cells.text("cell")
    first = first_rows.setdefault((plate.casefold(), cell.casefold()), cells.row)
    if plate and cell and first != cells.row:
        cells.fault("cell", f"{cell} of plate {plate} stands in row {first} already. Keep one of the two.")
    order, setting = cells.count(ORDER), _setting(cells)
    if cells.blank("seen"):
        _refuse_findings(cells)
        return None
    outcome = Outcome(
        plate=plate,
        cell=cell,
        order=order,
        setting=setting,
        seen=cells.choice("seen", SEEN),
        depth=_depth(cells),
        pierced=_pierced(cells, setting.passes),
        note="" if cells.blank("note") else cells.text("note"),
        photo="" if cells.blank(PHOTO) else cells.text(PHOTO),
    )
    _refuse_contradictions(cells, outcome, deepest_m)
    return None if cells.faults else outcome


def _refuse_contradictions(cells: RowCells, outcome: Outcome, deepest_m: float | None) -> None:
    """Refuse a row whose findings cannot all be true."""
    depth, pierced = outcome.depth, outcome.pierced
    if outcome.seen == "nothing" and depth is not None and depth.depth_m > 0.0:
        cells.fault("seen", "is nothing, yet a depth was read. Correct one of them.")
    if outcome.seen == "nothing" and pierced is not None and pierced.through_by is not None:
        cells.fault("seen", "is nothing, yet the sheet was pierced. Correct one of them.")
    ends = [end for end in (deepest_m, pierced.thickness_m if pierced else None) if end is not None]
    if depth is not None and ends and depth.depth_m > min(ends):
        cells.fault(
            DEPTH.name,
            f"is {_number(depth.depth_m, DEPTH)} um, but the plate is {_number(min(ends), DEPTH)} um thick. "
            "Correct the depth, or the thickness.",
        )


def _setting(cells: RowCells) -> Setting:
    return Setting(
        pulse_energy_j=cells.measure(PULSE_ENERGY),
        rate_hz=cells.measure(RATE),
        pulses_per_point=cells.count(PULSES_PER_POINT),
        pitch_m=cells.measure(PITCH),
        passes=cells.count(PASSES),
        focus_offset_m=0.0 if cells.blank(FOCUS_OFFSET.name) else cells.measure(FOCUS_OFFSET),
    )


def _refuse_findings(cells: RowCells) -> None:
    """Refuse a row with findings but no ``seen``, which would be skipped and its findings lost."""
    filled = [name for name in FOUND if not cells.blank(name)]
    if filled:
        cells.fault(
            "seen", f"is blank, but {', '.join(filled)} is filled in. Say what was seen, or clear it."
        )


def _depth(cells: RowCells) -> DepthReading | None:
    if cells.blank(DEPTH.name):
        for name in (DEPTH_SD.name, "depth_method"):
            if not cells.blank(name):
                cells.fault(DEPTH.name, f"is blank, but {name} is filled in. Write the depth, or clear it.")
        return None
    method = cells.choice("depth_method", tuple(DEPTH_SD_M))
    sd_m = DEPTH_SD_M[method] if cells.blank(DEPTH_SD.name) else cells.measure(DEPTH_SD)
    return DepthReading(depth_m=cells.measure(DEPTH), sd_m=sd_m, method=method)


def _pierced(cells: RowCells, passes: int) -> Pierced | None:
    """Read between which passes the sheet was pierced, and refuse passes that contradict one another."""
    if cells.blank(WHOLE_AFTER.name) and cells.blank(THROUGH_BY.name):
        return None
    whole_after = 0 if cells.blank(WHOLE_AFTER.name) else cells.count(WHOLE_AFTER)
    through_by = None if cells.blank(THROUGH_BY.name) else cells.count(THROUGH_BY)
    if through_by is not None and through_by <= whole_after:
        cells.fault(
            THROUGH_BY.name,
            f"through by pass {through_by}, yet whole after {whole_after}. Correct one of them.",
        )
    last = whole_after if through_by is None else through_by
    if last > passes:
        cells.fault(PASSES.name, f"{passes} were run, but pass {last} is named. Correct one of them.")
    return Pierced(thickness_m=cells.measure(SHEET), whole_after=whole_after, through_by=through_by)


def _given(trial: Trial) -> dict[str, str]:
    setting = trial.setting
    return {
        "plate": trial.plate,
        "cell": trial.cell,
        ORDER.name: str(trial.order),
        PULSE_ENERGY.name: _number(setting.pulse_energy_j, PULSE_ENERGY),
        RATE.name: _number(setting.rate_hz, RATE),
        PULSES_PER_POINT.name: str(setting.pulses_per_point),
        PITCH.name: _number(setting.pitch_m, PITCH),
        PASSES.name: str(setting.passes),
    } | ({FOCUS_OFFSET.name: _number(setting.focus_offset_m, FOCUS_OFFSET)} if setting.focus_offset_m else {})


def _found(outcome: Outcome) -> dict[str, str]:
    found = {"seen": str(outcome.seen), "note": outcome.note}
    if outcome.photo:
        found |= {PHOTO: outcome.photo}
    if (depth := outcome.depth) is not None:
        found |= {
            DEPTH.name: _number(depth.depth_m, DEPTH),
            DEPTH_SD.name: _number(depth.sd_m, DEPTH_SD),
            "depth_method": depth.method,
        }
    if (pierced := outcome.pierced) is not None:
        found |= {WHOLE_AFTER.name: str(pierced.whole_after), SHEET.name: _number(pierced.thickness_m, SHEET)}
        if pierced.through_by is not None:
            found |= {THROUGH_BY.name: str(pierced.through_by)}
    return found


def _number(value: float, column: Measure) -> str:
    return write_number(value, column.factor)


def _write(path: Path, rows: list[dict[str, str]]) -> None:
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, fieldnames=list(_columns(rows)), restval="", lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(rows)
    write_atomically(path, text.getvalue().encode())


def _columns(rows: list[dict[str, str]]) -> Iterator[str]:
    """Give the columns in order, with the optional ones only where a row needs them."""
    for name in COLUMNS:
        yield name
        if name == PASSES.name and any(FOCUS_OFFSET.name in row for row in rows):
            yield FOCUS_OFFSET.name
    if any(PHOTO in row for row in rows):
        yield PHOTO
