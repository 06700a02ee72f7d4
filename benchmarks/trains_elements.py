"""Set the recursion of `farface.heat.train` against a general package of finite elements."""

import time
from typing import Any

import numpy as np
import skfem
from numpy.typing import NDArray
from scipy.sparse.linalg import splu

from benchmarks.row import Row, row
from benchmarks.trains import ABSORPTION_PER_M, GAP_S, SPOT_M, recursion_hz
from farface.materials import glass, liquid

MARCHED = 40
STEPS_A_PULSE = 5
WIDE_M, PLATE_M, DEEP_M = 0.5e-3, 1e-4, 4e-3


def measure() -> Row:
    """March equal pulses by implicit steps with a matrix factored once, the package's best case."""
    solver, mass, pulse = _assembled()
    rise = np.zeros(pulse.size)
    start_s = time.process_time()
    for _ in range(MARCHED):
        rise = rise + pulse
        for _ in range(STEPS_A_PULSE):
            rise = solver.solve(mass @ rise)
    marched_hz = MARCHED / (time.process_time() - start_s)
    ours_hz = recursion_hz()
    return row(
        name="trains_elements", value=ours_hz, unit="pulses/s", peer="scikit-fem, factored once",
        ratio=ours_hz / marched_hz, goal=("at least", 1e4),
    )  # fmt: skip


def _assembled() -> tuple[Any, Any, NDArray[np.float64]]:
    """Assemble two materials about an axis; return the factored step, the mass and one pulse's rise."""
    water, pane = liquid("water"), glass("soda_lime_slide")
    capacity = [m.density_kg_per_m3 * m.heat_capacity_j_per_kg_k for m in (water, pane)]
    conductivity = [m.conductivity_w_per_m_k for m in (water, pane)]
    mesh = skfem.MeshQuad.init_tensor(
        graded(WIDE_M, SPOT_M / 8), np.concatenate([-graded(PLATE_M, 1e-7)[:0:-1], graded(DEEP_M, 1e-7)])
    )
    basis = skfem.Basis(mesh, skfem.ElementQuad1())

    @skfem.BilinearForm  # type: ignore[untyped-decorator]
    def mass_form(u: Any, v: Any, w: Any) -> Any:
        return np.where(w.x[1] > 0.0, *capacity) * u * v * w.x[0]

    @skfem.BilinearForm  # type: ignore[untyped-decorator]
    def flow_form(u: Any, v: Any, w: Any) -> Any:
        flow = u.grad[0] * v.grad[0] + u.grad[1] * v.grad[1]
        return np.where(w.x[1] > 0.0, *conductivity) * flow * w.x[0]

    mass, flow = mass_form.assemble(basis).tocsc(), flow_form.assemble(basis).tocsc()
    r_m, z_m = mesh.p
    pulse = np.where(z_m >= 0.0, np.exp(-2.0 * (r_m / SPOT_M) ** 2 - ABSORPTION_PER_M * z_m), 0.0)
    return splu(mass + GAP_S / STEPS_A_PULSE * flow), mass, pulse


def graded(length_m: float, first_m: float, ratio: float = 1.2) -> NDArray[np.float64]:
    """Divide a length from 0 on into steps that grow by ``ratio`` from about ``first_m``."""
    count = int(np.ceil(np.log(1.0 + length_m * (ratio - 1.0) / first_m) / np.log(ratio)))
    return np.asarray((ratio ** np.arange(count + 1) - 1.0) / (ratio**count - 1.0) * length_m)
