"""Read a short table that the person measured at the bench: marks, a blade, a caustic, or a power meter."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from farface.files.csv_cells import RowCells
from farface.files.csv_text import CsvText, read_csv
from farface.files.outcomes_columns import Measure
from farface.kernel import Malformed

Kind = Literal["marks", "blade", "caustic", "meter", "incubation"]

# Two columns tell what was measured. Bounds catch slips; common practice, no source.
TABLES: Final[dict[Kind, tuple[Measure, Measure]]] = {
    "marks": (
        Measure(name="pulse_energy_uJ", dimension="J", unit="uJ", low=1e-3, high=1e7),
        Measure(name="diameter_um", dimension="m", unit="um", low=0.1, high=1e5),
    ),
    "blade": (
        Measure(name="position_um", dimension="m", unit="um", low=-1e6, high=1e6),
        Measure(name="power_mW", dimension="W", unit="mW", low=-1e3, high=1e7),
    ),
    "caustic": (
        Measure(name="height_mm", dimension="m", unit="mm", low=-1e4, high=1e4),
        Measure(name="radius_um", dimension="m", unit="um", low=0.1, high=1e5),
    ),
    "meter": (
        Measure(name="rate_kHz", dimension="Hz", unit="kHz", low=1e-3, high=1e5),
        Measure(name="power_W", dimension="W", unit="W", low=1e-6, high=1e4),
    ),
    "incubation": (
        Measure(name="pulses", dimension="1", unit="", low=1.0, high=1e6),
        Measure(name="threshold_uJ", dimension="J", unit="uJ", low=1e-3, high=1e7),
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredTable:
    """Hold what a table measured: its kind, and its two columns in SI, shapes (row,)."""

    kind: Kind
    first_values: NDArray[np.float64]
    second_values: NDArray[np.float64]


def read_measured(path: Path) -> MeasuredTable:
    """Read a table, or nothing of it: `Malformed` names every bad cell, or the columns that would be read."""
    kind, table = _find(path)
    rows, faults = [], []
    for line in table.rows:
        named: Mapping[str, str] = dict(zip(table.columns, line.cells, strict=False))
        cells = RowCells(named, row=line.number, decimal_comma=table.decimal_comma)
        rows.append([cells.measure(column) for column in TABLES[kind]])
        faults += cells.faults
    if faults:
        raise Malformed(f"{path.name} was not taken: {' '.join(faults)}")
    values = np.asarray(rows, dtype=np.float64).reshape(-1, 2)
    return MeasuredTable(kind=kind, first_values=values[:, 0], second_values=values[:, 1])


def _find(path: Path) -> tuple[Kind, CsvText]:
    """Choose the kind whose columns the table has."""
    for kind, columns in TABLES.items():
        try:
            return kind, read_csv(path, columns=[column.name for column in columns])
        except Malformed:
            continue
    listed = "; ".join(
        f"{', '.join(column.name for column in columns)} ({kind})" for kind, columns in TABLES.items()
    )
    raise Malformed(f"{path.name} has none of the pairs of columns that are read here: {listed}.")
