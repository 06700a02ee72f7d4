import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farface.cavity.keller_miksis import KellerMiksis
from farface.kernel import ATMOSPHERE_PA, OutOfRange
from farface.materials.bubble_life import COLLAPSE_FACTOR

# Half the last digit of the table's times and radii, the coarsest of which has three digits.
PRINTED = 1e-3
# The solver's own error, as a share of the energy: the hardest collapse tested drifts by 2e-6.
SOLVER = 5e-6
QUIET = {"viscosity_pa_s": 0.0, "sound_speed_m_per_s": 1e12}


@pytest.mark.exact
@pytest.mark.parametrize(
    ("gas_um", "start_um", "printed"),
    [
        (10, 100, ("9.0609", "0.6622", "11.332", "25.40", "13.649", "2.483")),
        (3, 36, ("3.2233", "0.1984", "3.845", "7.455", "4.492", "0.867")),
        (50, 500, ("45.552", "3.187", "57.28", "127.86", "69.16", "11.67")),
    ],
)
def test_collapse_and_rebound_as_tabulated(gas_um: float, start_um: float, printed: tuple[str, ...]) -> None:
    """Two independent solvers agreed on every digit of this table: water, kappa 1.4, no vapour."""
    course = KellerMiksis(gas_radius_m=gas_um * 1e-6).course(start_m=start_um * 1e-6)
    assert course.status == "followed"
    turns = [course.first_minimum, course.rebound, course.second_minimum]
    found = [number * 1e6 for turn in turns if turn for number in (turn.time_s, turn.radius_m)]
    assert found == pytest.approx([float(number) for number in printed], rel=PRINTED)


@pytest.mark.exact
def test_an_empty_cavity_in_a_quiet_liquid_collapses_in_rayleighs_time() -> None:
    empty = KellerMiksis(gas_radius_m=0.0, surface_tension_n_per_m=0.0, vapour_pressure_pa=2339.0, **QUIET)
    course = empty.course(start_m=100e-6)
    rayleigh_s = COLLAPSE_FACTOR * 100e-6 * math.sqrt(998.2 / (ATMOSPHERE_PA - 2339.0))
    assert course.status == "gone"
    assert course.first_minimum is None
    assert course.times_s[-1] == pytest.approx(rayleigh_s, rel=1e-7)
    assert f"{rayleigh_s * 1e6:.4f}" == "9.1853"


@pytest.mark.exact
def test_minnaerts_number() -> None:
    """f R for air at 1 atm in water, as printed: 3.2862 m/s; 346.14 kHz for 10 um with surface tension."""
    assert KellerMiksis(gas_radius_m=1.0, surface_tension_n_per_m=0.0).natural_hz() == pytest.approx(
        3.2862, rel=1e-4
    )
    assert KellerMiksis(gas_radius_m=10e-6).natural_hz() == pytest.approx(346.14e3, rel=1e-4)


@pytest.mark.exact
def test_small_swings_have_minnaerts_frequency() -> None:
    cavity = KellerMiksis(gas_radius_m=10e-6, **QUIET)
    course = cavity.course(start_m=10.001e-6, duration_s=30e-6)
    first, *_, last = course.maxima
    periods = len(course.maxima) - 1
    assert periods > 8
    # Of second order in the amplitude of 1e-4.
    assert periods / (last.time_s - first.time_s) == pytest.approx(cavity.natural_hz(), rel=1e-6)


@pytest.mark.exact
@pytest.mark.parametrize("gas_share", [0.1, 0.5, 1.4])
def test_energy_is_kept_where_nothing_takes_any(gas_share: float) -> None:
    start_m = 100e-6
    cavity = KellerMiksis(gas_radius_m=gas_share * start_m, vapour_pressure_pa=2339.0, **QUIET)
    course = cavity.course(start_m=start_m, duration_s=60e-6)
    pairs = zip(course.radii_m, course.speeds_m_per_s, strict=True)
    energies = np.array([cavity.energy_j(radius_m=r, speed_m_per_s=u) for r, u in pairs])
    assert energies / cavity.energy_j(radius_m=start_m) == pytest.approx(1.0, rel=SOLVER)


@pytest.mark.exact
def test_viscosity_takes_what_the_closed_form_says() -> None:
    """Friction in the liquid takes 16 pi mu R U^2 a second."""
    cavity = KellerMiksis(gas_radius_m=5e-6, viscosity_pa_s=0.02, sound_speed_m_per_s=1e12)
    course = cavity.course(start_m=10e-6, duration_s=3e-6)
    loss_w = 16.0 * np.pi * 0.02 * course.radii_m * course.speeds_m_per_s**2
    lost = cavity.energy_j(radius_m=course.radii_m[0]) - cavity.energy_j(
        radius_m=course.radii_m[-1], speed_m_per_s=course.speeds_m_per_s[-1]
    )
    assert lost > 0.2 * cavity.energy_j(radius_m=course.radii_m[0])
    # Trapezoids between the solver's own steps.
    assert np.trapezoid(loss_w, course.times_s) == pytest.approx(lost, rel=1e-3)


@settings(max_examples=25, deadline=None)
@given(
    start_m=st.floats(5e-6, 1e-3),
    gas_share=st.floats(0.05, 2.0).filter(lambda share: abs(share - 1.0) > 0.05),
    viscosity_pa_s=st.floats(1e-4, 0.05),
)
def test_energy_never_grows_from_one_turning_point_to_the_next(
    start_m: float, gas_share: float, viscosity_pa_s: float
) -> None:
    cavity = KellerMiksis(gas_radius_m=gas_share * start_m, viscosity_pa_s=viscosity_pa_s)
    course = cavity.course(start_m=start_m)
    turns = sorted((*course.minima, *course.maxima), key=lambda turn: turn.time_s)
    radii_m = [start_m, *(turn.radius_m for turn in turns)]
    energies = np.array([cavity.energy_j(radius_m=radius_m) for radius_m in radii_m])
    assert np.all(np.diff(energies) <= SOLVER * energies[0])


@pytest.mark.exact
def test_sound_takes_what_a_gentle_swing_loses() -> None:
    """A swing's energy falls by omega R / c a radian when sound alone takes it."""
    cavity = KellerMiksis(gas_radius_m=100e-6, viscosity_pa_s=0.0, surface_tension_n_per_m=0.0)
    course = cavity.course(start_m=100.1e-6, duration_s=400e-6)
    swings = np.array([turn.radius_m for turn in course.maxima]) / 100e-6 - 1.0
    per_radian = -np.diff(np.log(swings)).mean() / (2.0 * math.pi)
    expected = 0.5 * 2.0 * math.pi * cavity.natural_hz() * 100e-6 / cavity.sound_speed_m_per_s
    # Of first order in the amplitude (1e-3) and in the Mach number (0.014).
    assert per_radian == pytest.approx(expected, rel=0.02)


@pytest.mark.parametrize("start", [{"start_m": 0.0}, {"start_m": 1e-5, "speed_m_per_s": 1482.0}])
def test_a_start_beyond_the_equation_is_refused(start: dict[str, float]) -> None:
    with pytest.raises(OutOfRange, match="slower than sound"):
        KellerMiksis(gas_radius_m=1e-6).course(**start)


def test_a_solver_that_gives_up_says_so() -> None:
    """Gas at 1e11 atm drives the wall as fast as sound at once, where the equation breaks down."""
    with pytest.warns(UserWarning, match="lsoda"):
        course = KellerMiksis(gas_radius_m=0.1).course(start_m=10e-6)
    assert course.status == "stopped early"
    assert course.first_minimum is course.rebound is course.second_minimum is None
