"""Set the recursion of `farface.heat.train` against a general package of finite volumes.

The package assembles and solves each step anew, as its manual shows it; the grid, the pulses and the steps
are those of `benchmarks.trains_elements`.
"""

import importlib.util
import os
import time
from typing import Any

import numpy as np

from benchmarks.row import Row, row
from benchmarks.trains import ABSORPTION_PER_M, GAP_S, SPOT_M, recursion_hz
from benchmarks.trains_elements import DEEP_M, PLATE_M, STEPS_A_PULSE, WIDE_M, graded
from farface.materials import glass, liquid

MARCHED = 4


def measure() -> Row:
    """March a few equal pulses by implicit steps."""
    if importlib.util.find_spec("fipy") is None:
        raise SystemExit('trains_volumes needs FiPy: pip install -e ".[benchmarks]"')
    os.environ.setdefault("FIPY_SOLVERS", "scipy")
    rise, equation, pulse = _built()
    equation.solve(var=rise, dt=GAP_S)  # what is built at first use
    start_s = time.process_time()
    for _ in range(MARCHED):
        rise.setValue(rise.value + pulse)
        for _ in range(STEPS_A_PULSE):
            equation.solve(var=rise, dt=GAP_S / STEPS_A_PULSE)
    marched_hz = MARCHED / (time.process_time() - start_s)
    ours_hz = recursion_hz()
    return row(
        name="trains_volumes", value=ours_hz, unit="pulses/s", peer="FiPy, step by step",
        ratio=ours_hz / marched_hz, goal=("at least", 1e4),
    )  # fmt: skip


def _built() -> tuple[Any, Any, Any]:
    """Build two materials about an axis; return the unknown, the equation and one pulse's rise."""
    from fipy import CellVariable, CylindricalGrid2D, DiffusionTerm, TransientTerm

    water, pane = liquid("water"), glass("soda_lime_slide")
    plate, deep = np.diff(graded(PLATE_M, 1e-7))[::-1], np.diff(graded(DEEP_M, 1e-7))
    mesh = CylindricalGrid2D(
        dx=np.diff(graded(WIDE_M, SPOT_M / 8)), dy=np.concatenate([plate, deep]), origin=((0.0,), (-PLATE_M,))
    )
    r_m, z_m = mesh.cellCenters.value
    capacity, conductivity = (
        CellVariable(mesh=mesh, value=np.where(z_m > 0.0, *values))
        for values in (
            [m.density_kg_per_m3 * m.heat_capacity_j_per_kg_k for m in (water, pane)],
            [m.conductivity_w_per_m_k for m in (water, pane)],
        )
    )
    pulse = np.where(z_m > 0.0, np.exp(-2.0 * (r_m / SPOT_M) ** 2 - ABSORPTION_PER_M * z_m), 0.0)
    flow = DiffusionTerm(coeff=conductivity.harmonicFaceValue)
    return CellVariable(mesh=mesh, value=0.0), TransientTerm(coeff=capacity) == flow, pulse
