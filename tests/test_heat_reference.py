import numpy as np
import pytest
from scipy.special import erfc

from farface.heat.halfspace import Pair, response
from farface.heat.reference import Pulse, Reference, Warmed
from farface.heat.reference_grid import Grid, spot_grid
from farface.heat.reference_medium import Medium, air, constant_medium, water_medium
from farface.heat.reference_stack import Stack

SPOT_M = 20e-6
ALPHA_PER_M = 1000.0
# Water and soda-lime glass at 20 C, and the energy that heats the water by one kelvin at the face.
WATER = constant_medium(capacity_j_per_m3_k=998.2 * 4184.0, conductivity_w_per_m_k=0.598)
GLASS = constant_medium(capacity_j_per_m3_k=2500.0 * 830.0, conductivity_w_per_m_k=1.0)
KELVIN_J = np.pi * SPOT_M**2 / 2.0 / ALPHA_PER_M * 998.2 * 4184.0
DIFFUSIVITY = 0.598 / (998.2 * 4184.0)
PAIR = Pair(diffusivity_ratio=DIFFUSIVITY / (1.0 / (2500.0 * 830.0)), conductivity_ratio=0.598)
# What the fast response is asked to meet, as a share of the highest rise at the time.
ASKED = 1e-3
# Rounding in sums over some ten thousand cells; 1e-10 is asked for.
CONSERVED = 1e-12


def _grid(cells: int, finest_m: float = 8e-9, glass_m: float = 6e-3) -> Grid:
    return spot_grid(
        radius_m=SPOT_M, finest_m=finest_m, liquid_m=8e-3, glass_m=glass_m, wide_m=6e-3, cells=cells
    )


def _one_pulse(grid: Grid, times_s: np.ndarray, *, step_share: float = 0.1) -> Warmed:
    reference = Reference(
        stack=Stack(grid=grid, liquid=WATER, glass=GLASS),
        radius_m=SPOT_M,
        absorption_per_m=ALPHA_PER_M,
        first_step_s=2e-10,
        step_share=step_share,
    )
    return reference.march(pulses=(Pulse(time_s=0.0, energy_j=KELVIN_J),), times_s=times_s)


def _largest_misses(grid: Grid, warmed: Warmed, every: int) -> np.ndarray:
    """Return at each time the largest difference from the exact response over the highest rise."""
    rings, slabs = slice(0, grid.r_m.size * 5 // 8, every), slice(0, None, every)
    rho, zeta = np.meshgrid(grid.r_m[rings] / SPOT_M, grid.z_m[slabs] / SPOT_M, indexing="ij")
    misses = []
    for time_s, rise_k in zip(warmed.times_s, warmed.rise_k, strict=True):
        tau = time_s * DIFFUSIVITY / SPOT_M**2
        near = rho < 4.0 * np.sqrt(1.0 + 8.0 * tau)  # beyond, the response's own radial sum ends
        exact = response(PAIR, alpha_w=ALPHA_PER_M * SPOT_M, tau=tau, zeta=zeta, rho=np.where(near, rho, 0.0))
        misses.append(np.abs(np.where(near, rise_k[rings, slabs] - exact, 0.0)).max() / rise_k.max())
    return np.array(misses)


@pytest.mark.exact
def test_the_fast_response_meets_the_reference_from_10_ns_to_1_s() -> None:
    times_s = np.geomspace(1e-8, 1.0, 9)
    grid = _grid(128)
    misses = _largest_misses(grid, _one_pulse(grid, times_s), every=16)
    assert misses.max() < ASKED


@pytest.mark.exact
def test_halving_the_cells_quarters_the_error() -> None:
    times_s = np.array([1e-7, 1e-5, 1e-3])
    coarse, fine = (
        _largest_misses(grid, _one_pulse(grid, times_s), every=8).max() for grid in (_grid(32), _grid(64))
    )
    assert coarse / fine == pytest.approx(4.0, abs=0.8)


@pytest.mark.exact
@pytest.mark.slow
def test_the_error_goes_on_falling_on_finer_grids() -> None:
    times_s = np.geomspace(1e-8, 1.0, 9)
    grids = (_grid(64), _grid(128), _grid(256))
    misses = [
        _largest_misses(grid, _one_pulse(grid, times_s, step_share=0.05), every=32).max() for grid in grids
    ]
    assert misses[2] < 0.3 * ASKED
    assert np.log2(misses[0] / misses[2]) / 2.0 > 1.8


def _plate() -> Grid:
    return spot_grid(
        radius_m=SPOT_M, finest_m=4e-8, liquid_m=4e-3, glass_m=170e-6, above_m=2e-3, wide_m=1e-3, cells=40
    )


def _train(liquid: Medium, *, step_share: float, heating_k: float = 60.0) -> Warmed:
    """March four pulses at 40 kHz on a plate of 0.17 mm with air above it."""
    reference = Reference(
        stack=Stack(grid=_plate(), liquid=liquid, glass=GLASS),
        radius_m=SPOT_M,
        absorption_per_m=ALPHA_PER_M,
        first_step_s=4e-8 * step_share,
        step_share=step_share,
    )
    pulses = tuple(Pulse(time_s=25e-6 * n, energy_j=heating_k * KELVIN_J) for n in range(4))
    return reference.march(pulses=pulses, times_s=np.array([0.0, 30e-6, 75e-6, 75.1e-6, 1e-3, 20e-3]))


@pytest.mark.exact
@pytest.mark.parametrize(("liquid", "order"), [(WATER, 3.0), (water_medium(), 2.0)], ids=["still", "real"])
def test_shorter_steps_converge_at_the_rule_s_rate(liquid: Medium, order: float) -> None:
    shares = (0.2, 0.1, 0.05)
    ends = [_train(liquid, step_share=share).rise_k for share in shares]
    first, second = (np.abs(ends[i] - ends[i + 1]).max() for i in range(2))
    assert np.log2(first / second) > order - 0.35
    # At the share in use, steps add less than a tenth of what is asked.
    assert second < 0.1 * ASKED * ends[-1].max()


@pytest.mark.exact
@pytest.mark.parametrize("liquid", [WATER, water_medium()], ids=["still", "real"])
def test_heat_is_conserved_through_pulses_plate_and_air(liquid: Medium) -> None:
    warmed = _train(liquid, step_share=0.2)
    assert warmed.status == "followed"
    assert warmed.absorbed_j[[0, 1, -1]] == pytest.approx(KELVIN_J * 60.0 * np.array([1, 2, 4]), rel=0.02)
    assert warmed.stored_j / warmed.absorbed_j == pytest.approx(1.0, rel=CONSERVED)


@pytest.mark.exact
def test_pulses_add_up_when_properties_stay() -> None:
    """The reference for a train is the sum of the exact responses to its pulses."""
    warmed, grid = _train(WATER, step_share=0.1, heating_k=1.0), _plate()
    slab = int(np.searchsorted(grid.z_m, SPOT_M))
    exact = sum(
        response(
            PAIR,
            alpha_w=ALPHA_PER_M * SPOT_M,
            tau=(75e-6 - 25e-6 * n + 1e-12) * DIFFUSIVITY / SPOT_M**2,
            zeta=grid.z_m[slab] / SPOT_M,
            rho=grid.r_m[0] / SPOT_M,
        )
        for n in range(4)
    )
    # What 40 cells miss; the plate's far side is not felt yet.
    assert warmed.rise_k[2, 0, slab] == pytest.approx(float(exact), rel=5e-3)


def _warm_half(a: float, tau: float, zeta: np.ndarray) -> np.ndarray:
    """Return how exp(-a z) on z > 0 spreads in one endless medium."""
    return 0.5 * np.exp(a**2 * tau - a * zeta) * erfc((2.0 * a * tau - zeta) / np.sqrt(4.0 * tau))


@pytest.mark.exact
@pytest.mark.parametrize("insulated", [True, False])
def test_a_plate_of_finite_thickness_by_images(insulated: bool) -> None:
    """With water everywhere the plate is unseen; with nothing above, its top mirrors the heat."""
    plate_m = 30e-6
    nothing = constant_medium(capacity_j_per_m3_k=1e-6, conductivity_w_per_m_k=1e-12)
    grid = spot_grid(
        radius_m=SPOT_M, finest_m=4e-8, liquid_m=6e-3, glass_m=plate_m, above_m=1e-3, wide_m=1e-3, cells=80
    )
    reference = Reference(
        stack=Stack(grid=grid, liquid=WATER, glass=WATER, above=nothing if insulated else WATER),
        radius_m=SPOT_M,
        absorption_per_m=ALPHA_PER_M,
        first_step_s=2e-9,
    )
    time_s = 5e-3
    warmed = reference.march(pulses=(Pulse(time_s=0.0, energy_j=KELVIN_J),), times_s=np.array([time_s]))
    tau, a = time_s * DIFFUSIVITY / SPOT_M**2, ALPHA_PER_M * SPOT_M
    inside = slice(grid.glass.start, None)
    zeta = grid.z_m[inside] / SPOT_M
    axial = _warm_half(a, tau, zeta)
    if insulated:
        axial += _warm_half(a, tau, -2.0 * plate_m / SPOT_M - zeta)
    spread = 1.0 + 8.0 * tau
    expected = np.exp(-2.0 * (grid.r_m[0] / SPOT_M) ** 2 / spread) / spread * axial
    assert np.abs(warmed.rise_k[0, 0, inside] - expected).max() < 2.0 * ASKED * expected.max()


@pytest.mark.exact
def test_air_above_a_thin_plate_keeps_the_heat_in() -> None:
    """The plate's top is warmer under air than inside endless glass, at most twofold."""
    rises = []
    for above in (air(), GLASS):
        grid = spot_grid(
            radius_m=SPOT_M, finest_m=1e-7, liquid_m=4e-3, glass_m=100e-6, above_m=2e-3, wide_m=2e-3, cells=32
        )
        reference = Reference(
            stack=Stack(grid=grid, liquid=WATER, glass=GLASS, above=above),
            radius_m=SPOT_M,
            absorption_per_m=ALPHA_PER_M,
            first_step_s=5e-9,
        )
        warmed = reference.march(pulses=(Pulse(time_s=0.0, energy_j=KELVIN_J),), times_s=np.array([10e-3]))
        rises.append(warmed.rise_k[0, 0, grid.glass.start])
    assert 1.5 < rises[0] / rises[1] < 2.0


@pytest.mark.exact
def test_water_past_its_table_ends_the_run_and_says_so() -> None:
    warmed = _train(water_medium(), step_share=0.2, heating_k=160.0)
    assert warmed.status == "superheated"
    assert warmed.times_s.tolist() == [0.0, 30e-6]
    assert warmed.rise_k.shape[0] == 2


@pytest.mark.exact
def test_what_water_s_own_changes_do() -> None:
    """Four pulses of 76 K at 40 kHz, with a sum of constant ones at 271 K on the axis.

    A linear rise read as heat, with the heat capacity of cold water, meets the changing water within 1 %.
    """
    cold, real = (_train(liquid, step_share=0.1, heating_k=76.0) for liquid in (WATER, water_medium()))
    just_after, later = 2, 4
    highest = [warmed.rise_k[just_after].max() for warmed in (cold, real)]
    assert 1.0 - highest[1] / highest[0] == pytest.approx(0.064, abs=0.005)
    as_heat = water_medium().rise_from_heat_k(np.array([highest[0] * WATER.heat_j_per_m3[1]]))[0]
    assert as_heat == pytest.approx(highest[1], rel=0.01)
    # Later less is left: heat spreads better in the hot water, whose conductivity is up to 14 % higher.
    assert 1.0 - real.rise_k[later].max() / cold.rise_k[later].max() == pytest.approx(0.08, abs=0.01)
