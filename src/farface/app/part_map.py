"""Keep the depth map of a plan in the journal, and give it back coarse enough for a page to draw."""

import io
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.app.workbench import Workbench
from farface.files.depth_map import map_notes, npy_bytes
from farface.journal import Input, Record
from farface.kernel import Malformed, Missing
from farface.part.depth_map import DepthMap

ROLE: Final = "depth-map"
NOTES: Final = "depth-notes"
# More cells across than this no screen shows and no phone turns smoothly.
MOST_ACROSS: Final = 800


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownMap:
    """Hold a coarser map: ``depth_m`` of shape (row, column), float32, row 0 at the lowest y."""

    depth_m: NDArray[np.float32]
    cell_m: float


def keep_map(work: Workbench, name: str, depths: DepthMap) -> tuple[Input, Input]:
    """Keep a depth map and the notes that say how to read it, as inputs of the record to come."""
    notes = map_notes(depths, invented=work.invented)
    return (
        work.keep(npy_bytes(depths), kind=ROLE, name=f"{name}-depth.npy"),
        work.keep(notes, kind=NOTES, name=f"{name}-depth.json"),
    )


def shown_map(work: Workbench, record: Record) -> ShownMap:
    """Read the map that a record rests on, averaged to `MOST_ACROSS` cells. Raises `Missing` without one."""
    import json

    kept = {item.role: item.file for item in record.inputs if item.file}
    if ROLE not in kept or NOTES not in kept:
        raise Missing(f"Record {record.number} kept no depth map. Plan the part again to see it in depth.")
    depths = np.load(io.BytesIO(work.journal.content(kept[ROLE])), allow_pickle=False)
    if depths.ndim != 2 or not depths.size:
        raise Malformed(f"The depth map of record {record.number} is no map. Plan the part again.")
    cell_um = float(json.loads(work.journal.content(kept[NOTES]))["cell_um"])
    factor = -(-max(depths.shape) // MOST_ACROSS)
    return ShownMap(depth_m=averaged_m(depths, factor), cell_m=1e-6 * cell_um * factor)


def averaged_m(depth_m: NDArray[np.float32], factor: int) -> NDArray[np.float32]:
    """Average blocks of ``factor`` by ``factor`` cells; incomplete ones at the far edges are left out."""
    rows, columns = (max(1, size // factor) for size in depth_m.shape)
    if factor <= 1 or min(depth_m.shape) < factor:
        return depth_m.astype(np.float32)
    blocks = depth_m[: rows * factor, : columns * factor].reshape(rows, factor, columns, factor)
    return np.asarray(blocks.mean(axis=(1, 3)), dtype=np.float32)
