"""Hold the reference solver to finite elements by scikit-fem: two materials and a plate that ends."""

import numpy as np
import pytest
from scipy.sparse.linalg import splu

from farface.heat.reference import Pulse, Reference
from farface.heat.reference_grid import Grid, spot_grid
from farface.heat.reference_medium import constant_medium
from farface.heat.reference_stack import Stack

SPOT_M, ALPHA_PER_M, PLATE_M, WIDE_M, DEEP_M = 20e-6, 5000.0, 100e-6, 0.5e-3, 1.2e-3
LIQUID = (4.18e6, 0.6)  # J/m3/K, W/m/K
GLASS = (2.0e6, 1.4)
TIMES_S = np.array([2e-6, 2e-5, 2e-4, 2e-3])
# What both may miss together, as a share of the highest rise at the time.
TOGETHER = 1e-3
# The share of a step that the two-stage rule for the elements takes implicitly, which makes it damp fully.
GAMMA = 1.0 - np.sqrt(0.5)


def _graded(length_m: float, first_m: float, ratio: float) -> np.ndarray:
    count = int(np.ceil(np.log(1.0 + length_m * (ratio - 1.0) / first_m) / np.log(ratio)))
    edges_m = (ratio ** np.arange(count + 1) - 1.0) / (ratio**count - 1.0) * length_m
    edges_m[-1] = length_m
    return edges_m


def _by_elements(points_m: np.ndarray) -> np.ndarray:
    """Return the rise of a pulse that heats the face's liquid by one kelvin, shape (times, points)."""
    skfem = pytest.importorskip("skfem")
    radii_m = _graded(WIDE_M, SPOT_M / 8, 1.1)
    glass_m, liquid_m = _graded(PLATE_M, 1e-7, 1.25), _graded(DEEP_M, 1e-7, 1.25)
    mesh = skfem.MeshQuad.init_tensor(radii_m, np.concatenate([-glass_m[:0:-1], liquid_m]))
    basis = skfem.Basis(mesh, skfem.ElementQuad2(), intorder=5)

    def of_material(x: np.ndarray, which: int) -> np.ndarray:
        return np.where(x[1] > 0.0, LIQUID[which], GLASS[which])

    @skfem.BilinearForm
    def mass(u, v, w):  # type: ignore[no-untyped-def]
        return of_material(w.x, 0) * u * v * w.x[0]

    @skfem.BilinearForm
    def stiffness(u, v, w):  # type: ignore[no-untyped-def]
        return of_material(w.x, 1) * (u.grad[0] * v.grad[0] + u.grad[1] * v.grad[1]) * w.x[0]

    @skfem.LinearForm
    def left_by_pulse(v, w):  # type: ignore[no-untyped-def]
        rise = np.exp(-2.0 * w.x[0] ** 2 / SPOT_M**2 - ALPHA_PER_M * w.x[1])
        return np.where(w.x[1] > 0.0, LIQUID[0] * rise, 0.0) * v * w.x[0]

    m, k = mass.assemble(basis).tocsc(), stiffness.assemble(basis).tocsc()
    rise = splu(m).solve(left_by_pulse.assemble(basis))
    probes = basis.probes(points_m)
    found, now_s = [], 0.0
    for until_s, octaves in zip(TIMES_S, (9, 3, 3, 3), strict=True):
        for start, stop in zip(*_halves(now_s, until_s, octaves), strict=True):
            step_s = (stop - start) / 12
            factored = splu(m + GAMMA * step_s * k)
            for _ in range(12):
                first = factored.solve(-(k @ rise))
                second = factored.solve(-(k @ (rise + (1.0 - GAMMA) * step_s * first)))
                rise = rise + step_s * ((1.0 - GAMMA) * first + GAMMA * second)
        now_s = until_s
        found.append(probes @ rise)
    return np.array(found)


def _halves(start_s: float, stop_s: float, octaves: int) -> tuple[np.ndarray, np.ndarray]:
    """Split a time in spans that double, so that steps grow with the time since the pulse."""
    ends_s = start_s + (stop_s - start_s) * 2.0 ** np.arange(-octaves, 1.0)
    return np.concatenate([[start_s], ends_s[:-1]]), ends_s


def _by_volumes(grid: Grid) -> np.ndarray:
    liquid, glass = (
        constant_medium(capacity_j_per_m3_k=capacity, conductivity_w_per_m_k=conductivity)
        for capacity, conductivity in (LIQUID, GLASS)
    )
    reference = Reference(
        stack=Stack(grid=grid, liquid=liquid, glass=glass),
        radius_m=SPOT_M,
        absorption_per_m=ALPHA_PER_M,
        first_step_s=2e-9,
        step_share=0.05,
    )
    kelvin_j = np.pi * SPOT_M**2 / 2.0 / ALPHA_PER_M * LIQUID[0]
    return reference.march(pulses=(Pulse(time_s=0.0, energy_j=kelvin_j),), times_s=TIMES_S).rise_k


@pytest.mark.exact
@pytest.mark.slow
def test_finite_elements_and_finite_volumes_agree() -> None:
    grid = spot_grid(
        radius_m=SPOT_M, finest_m=1e-7, liquid_m=DEEP_M, glass_m=PLATE_M, wide_m=WIDE_M, cells=160
    )
    rings, slabs = np.arange(0, 120, 12), np.arange(0, 320, 10)
    r_m, z_m = np.meshgrid(grid.r_m[rings], grid.z_m[slabs], indexing="ij")
    elements = _by_elements(np.array([r_m.ravel(), z_m.ravel()])).reshape(-1, *r_m.shape)
    volumes = _by_volumes(grid)
    for at, rise_k in enumerate(volumes):
        miss = np.abs(rise_k[np.ix_(rings, slabs)] - elements[at]).max() / rise_k.max()
        assert miss < TOGETHER, f"{miss:.1e} at {TIMES_S[at]} s"
