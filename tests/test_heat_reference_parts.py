"""Hold the parts of the reference solver to slow and obvious twins."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farface.heat.reference_flux import Lattice, net_flux_w_per_m3
from farface.heat.reference_grid import spot_grid
from farface.heat.reference_medium import constant_medium, water_medium
from farface.heat.reference_solve import slab_operator
from farface.kernel import OutOfRange
from farface.materials.water_liquid import water_by_temperature

# Rounding over some hundred operations.
ROUNDING = 1e-11


def _lattice(rings: int, slabs: int) -> Lattice:
    edges_m = np.linspace(0.0, 1.0, rings + 1) ** 1.5 * 1e-4
    return Lattice(
        r_edges_m=edges_m,
        middle_m=0.5 * (edges_m[1:] + edges_m[:-1]),
        ring_m2=np.pi * np.diff(edges_m**2),
        slab_m=np.geomspace(1e-7, 1e-5, slabs),
    )


def _dense(lattice: Lattice, conductivity: np.ndarray) -> np.ndarray:
    """Return the matrix that takes all rises to all inflows, written out face by face."""
    rings, slabs = conductivity.shape
    matrix = np.zeros((rings * slabs, rings * slabs))

    def exchange(a: tuple[int, int], b: tuple[int, int], watts_per_k: float) -> None:
        for here, there in ((a, b), (b, a)):
            row = here[0] * slabs + here[1]
            per_m3 = watts_per_k / (lattice.ring_m2[here[0]] * lattice.slab_m[here[1]])
            matrix[row, there[0] * slabs + there[1]] += per_m3
            matrix[row, row] -= per_m3

    half = 0.5 * lattice.slab_m
    for i in range(rings):
        for j in range(slabs):
            if j + 1 < slabs:
                resistance = half[j] / conductivity[i, j] + half[j + 1] / conductivity[i, j + 1]
                exchange((i, j), (i, j + 1), lattice.ring_m2[i] / resistance)
            if i + 1 < rings:
                edge = lattice.r_edges_m[i + 1]
                resistance = (edge - lattice.middle_m[i]) / conductivity[i, j]
                resistance += (lattice.middle_m[i + 1] - edge) / conductivity[i + 1, j]
                exchange((i, j), (i + 1, j), 2.0 * np.pi * edge * lattice.slab_m[j] / resistance)
    return matrix


@pytest.mark.exact
def test_flux_meets_its_slow_twin() -> None:
    rng = np.random.default_rng(5)
    lattice, conductivity, rise = _lattice(5, 7), rng.uniform(0.1, 2.0, (5, 7)), rng.normal(size=(5, 7))
    slow = (_dense(lattice, conductivity) @ rise.ravel()).reshape(5, 7)
    fast = net_flux_w_per_m3(rise, conductivity, lattice)
    assert fast == pytest.approx(slow, rel=ROUNDING, abs=ROUNDING * np.abs(slow).max())


@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 1000), log_step=st.floats(-9.0, 1.0))
def test_the_implicit_step_meets_a_dense_solution(seed: int, log_step: float) -> None:
    rng = np.random.default_rng(seed)
    rings, slabs, step_s = 5, 7, 10.0**log_step
    lattice = _lattice(rings, slabs)
    capacity, conductivity = rng.uniform(1e6, 5e6, slabs), rng.uniform(0.1, 2.0, slabs)
    inflow = rng.normal(size=(rings, slabs))
    operator = slab_operator(lattice, capacity_j_per_m3_k=capacity, conductivity_w_per_m_k=conductivity)
    matrix = _dense(lattice, np.tile(conductivity, (rings, 1))) / np.tile(capacity, rings)
    slow = np.linalg.solve(np.eye(rings * slabs) - step_s * matrix, inflow.ravel()).reshape(rings, slabs)
    fast = operator.implicit_w_per_m3(step_s, inflow)
    # Both lose digits to the condition of the matrix, up to 1e8 here.
    assert np.abs(fast - slow).max() < 1e-6 * np.abs(slow).max()
    volumes = np.outer(lattice.ring_m2, lattice.slab_m)
    assert (fast * volumes).sum() == pytest.approx((inflow * volumes).sum(), abs=1e-9 * volumes.sum())


def test_a_grid_ends_where_its_materials_end() -> None:
    grid = spot_grid(
        radius_m=2e-5, finest_m=1e-8, liquid_m=4e-3, glass_m=1e-3, above_m=2e-3, wide_m=3e-3, cells=32
    )
    assert grid.z_edges_m[[0, -1]].tolist() == [-3e-3, 4e-3]
    assert grid.z_edges_m[grid.glass.start] == -1e-3
    assert grid.z_edges_m[grid.liquid.start] == 0.0
    assert np.all(np.diff(grid.z_edges_m) > 0.0)
    assert np.diff(grid.z_edges_m)[grid.liquid.start] == pytest.approx(2e-8, rel=1e-6)
    assert grid.volume_m3.sum() == pytest.approx(np.pi * 3e-3**2 * 7e-3)


@given(rise_k=st.floats(0.0, 296.0))
def test_water_s_rise_and_heat_undo_one_another(rise_k: float) -> None:
    water = water_medium()
    heat = np.interp(rise_k, water.rise_k, water.heat_j_per_m3)
    assert water.rise_from_heat_k(np.array([heat]))[0] == pytest.approx(rise_k, abs=1e-9)


@pytest.mark.exact
def test_water_is_followed_in_its_mass() -> None:
    """Up to 575 K a kilogram takes 1286.4 kJ at 1 atm; the mass is that of cold water."""
    water = water_medium()
    heat = np.interp(575.0 - 293.15, water.rise_k, water.heat_j_per_m3)
    assert heat == pytest.approx(998.207 * 1286.4e3, rel=1e-4)
    table = water_by_temperature()
    swollen = (table.at("density_kg_per_m3", 293.15) / table.at("density_kg_per_m3", 473.15)) ** (1 / 3)
    found = water.conductivity_at_w_per_m_k(np.array([180.0]))[0]
    assert found == pytest.approx(0.6588 * swollen, rel=1e-4)


def test_a_constant_medium_goes_on_for_ever() -> None:
    medium = constant_medium(capacity_j_per_m3_k=2.0e6, conductivity_w_per_m_k=1.1)
    far = np.array([-5.0, 0.0, 1e4])
    assert medium.capacity_j_per_m3_k(far).tolist() == [2.0e6] * 3
    assert medium.conductivity_at_w_per_m_k(far).tolist() == [1.1] * 3
    assert medium.rise_from_heat_k(2.0e6 * far) == pytest.approx(far)


def test_a_start_below_freezing_is_refused() -> None:
    with pytest.raises(OutOfRange, match=r"273\.16"):
        water_medium(start_k=260.0)
