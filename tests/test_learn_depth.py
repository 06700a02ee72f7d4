import math
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import lognorm, norm

from bench_records import BATH, RIG
from farface.etch.bench import etch_bench
from farface.etch.forecast import forecast
from farface.etch.outcome_odds import RUNAWAY, STEADY
from farface.etch.unknowns import CELL_SCATTER, DEPTH_SCATTER, draw_prior
from farface.kernel import Malformed
from farface.learn.depth import (
    DEPTH_POWER,
    FINEST_SD_M,
    depth_per_pass_interval_m,
    depth_width,
    log_at_least,
    log_between,
    log_reading,
)
from farface.records import Pierced, Setting

UM = 1e-6
# The trapezoid rule over the convolution, in log density.
CONVOLUTION = 1e-5
ROUNDING = 1e-9


def reading(reading_m: float, sd_m: float, median_m: float, width: float) -> float:
    return float(
        log_reading(
            reading_m=np.array([reading_m]), sd_m=np.array([sd_m]), median_m=np.array([median_m]),
            width=np.array([width]),
        )[0]
    )  # fmt: skip


def between(low_m: float, high_m: float, median_m: float, width: float) -> float:
    return float(
        log_between(
            low_m=np.array([low_m]), high_m=np.array([high_m]), median_m=np.array([median_m]),
            width=np.array([width]),
        )[0]
    )  # fmt: skip


@pytest.mark.exact
def test_a_sheet_pierced_between_two_passes_gives_an_interval() -> None:
    low_m, high_m = depth_per_pass_interval_m(Pierced(thickness_m=170 * UM, whole_after=12, through_by=13))
    assert low_m / UM == pytest.approx(13.077, abs=0.0005)
    assert high_m / UM == pytest.approx(14.167, abs=0.0005)


def test_an_interval_may_be_open() -> None:
    assert depth_per_pass_interval_m(Pierced(thickness_m=1e-4, whole_after=10, through_by=None))[0] == 0.0
    assert depth_per_pass_interval_m(Pierced(thickness_m=1e-4, whole_after=0, through_by=1))[1] == math.inf


@pytest.mark.parametrize(("whole", "through"), [(5, 5), (5, 4), (-1, 2)])
def test_a_sheet_cannot_be_through_before_it_was_whole(whole: int, through: int) -> None:
    with pytest.raises(Malformed, match=f"whole after pass {whole}"):
        depth_per_pass_interval_m(Pierced(thickness_m=1e-4, whole_after=whole, through_by=through))


@pytest.mark.exact
@pytest.mark.parametrize("width", [0.1, 0.3, 0.8])
@pytest.mark.parametrize(
    ("read_um", "sd_um"), [(20.0, 0.3), (20.0, 3.0), (12.0, 8.0), (1.0, 5.0), (-2.0, 3.0)]
)
def test_a_reading_is_the_convolution_of_scatter_and_error(
    width: float, read_um: float, sd_um: float
) -> None:
    median_um = 15.0
    density = quad(
        lambda u: norm.pdf(u, math.log(median_um), width) * norm.pdf(read_um, math.exp(u), sd_um),
        math.log(median_um) - 9 * width,
        math.log(median_um) + 9 * width,
        points=sorted({math.log(max(read_um, 0.5)), math.log(median_um)}),
        epsabs=0.0,
        limit=400,
    )[0]
    found = reading(read_um * UM, sd_um * UM, median_um * UM, width)
    assert found == pytest.approx(math.log(density) - math.log(UM), abs=CONVOLUTION)


@pytest.mark.exact
def test_a_sharp_reading_is_log_normal() -> None:
    exact = lognorm(0.3, scale=1e-3).logpdf(1.2e-3)
    assert reading(1.2e-3, 0.0, 1e-3, 0.3) == pytest.approx(exact, abs=100 * (FINEST_SD_M / 1e-3))


@pytest.mark.exact
def test_readings_of_all_depths_add_up_to_one() -> None:
    depths_m = np.linspace(-30 * UM, 300 * UM, 4001)
    density = np.exp(
        log_reading(
            reading_m=depths_m, sd_m=np.array(4 * UM), median_m=np.array(20 * UM), width=np.array(0.5)
        )
    )
    assert np.trapezoid(density, depths_m) == pytest.approx(1.0, abs=1e-4)


def test_a_far_off_reading_stays_a_number_and_falls() -> None:
    found = [reading(100 * UM, 1 * UM, median_m, 0.2) for median_m in (50 * UM, 5 * UM, 0.5 * UM, 0.0)]
    assert np.all(np.isfinite(found))
    assert np.all(np.diff(found) < 0.0)


@pytest.mark.exact
def test_the_interval_of_a_pierced_sheet_is_censored() -> None:
    law = lognorm(0.25, scale=13 * UM)
    exact = math.log(law.cdf(14.167 * UM) - law.cdf(13.077 * UM))
    assert between(13.077 * UM, 14.167 * UM, 13 * UM, 0.25) == pytest.approx(exact, abs=ROUNDING)
    assert between(0.0, 14 * UM, 13 * UM, 0.25) == pytest.approx(law.logcdf(14 * UM), abs=ROUNDING)
    assert between(14 * UM, math.inf, 13 * UM, 0.25) == pytest.approx(law.logsf(14 * UM), abs=ROUNDING)
    # In the far tail the difference of two numbers near one would be zero.
    far = norm.logsf(8.0) + math.log1p(-math.exp(norm.logsf(9.0) - norm.logsf(8.0)))
    assert between(math.exp(0.8), math.exp(0.9), 1.0, 0.1) == pytest.approx(far, abs=1e-7)


@pytest.mark.exact
def test_neighbouring_intervals_share_out_one() -> None:
    ends = [170 * UM / k for k in range(40, 0, -1)]
    parts = [0.0, *ends, math.inf]
    total = sum(math.exp(between(a, b, 13 * UM, 0.3)) for a, b in pairwise(parts))
    assert total == pytest.approx(1.0, abs=ROUNDING)


@pytest.mark.exact
def test_a_felt_depth_is_a_lower_bound() -> None:
    bound_m, median_m = np.array([10 * UM]), np.array([13 * UM])
    found = log_at_least(bound_m=bound_m, sd_m=np.array([0.0]), median_m=median_m, width=np.array([0.25]))
    assert found[0] == pytest.approx(lognorm(0.25, scale=13 * UM).logsf(10 * UM), abs=ROUNDING)
    blurred = log_at_least(bound_m=bound_m, sd_m=np.array([4 * UM]), median_m=median_m, width=np.array([0.3]))
    assert blurred[0] == pytest.approx(lognorm(0.5, scale=13 * UM).logsf(10 * UM), abs=ROUNDING)  # 3, 4, 5
    medians_m = np.geomspace(1 * UM, 100 * UM, 30)
    rising = log_at_least(
        bound_m=bound_m, sd_m=np.array([2 * UM]), median_m=medians_m, width=np.array([0.25])
    )
    assert np.all(np.diff(rising) >= 0.0)
    assert rising[-1] == pytest.approx(0.0, abs=1e-6)


def test_the_power_of_fluence_is_the_models_own() -> None:
    """Compare the assumed power with the model's slope where most draws of the prior etch steadily."""
    bench = etch_bench(RIG, BATH)
    draws = draw_prior(bench, 150, np.random.default_rng(5))
    step, slopes = 0.1, []
    for energy_j in (2e-4, 3e-4, 4e-4):
        around = [
            Setting(
                pulse_energy_j=energy_j * math.exp(h),
                rate_hz=40e3,
                pulses_per_point=8,
                pitch_m=15e-6,
                passes=10,
            )
            for h in (-step, 0.0, step)
        ]
        ahead = forecast(bench, around, draws, threads=1)
        steady = (ahead.odds[:, 1, STEADY] > 0.5) & (ahead.odds[:, 2, RUNAWAY] < 0.5)
        depth_m = ahead.quantity("depth_per_pass_m")[steady]
        slopes.append(np.log(depth_m[:, 2] / depth_m[:, 0]) / (2 * step))
    assert np.median(np.concatenate(slopes)) == pytest.approx(DEPTH_POWER, abs=1.0)


def test_depth_scatters_by_its_own_and_by_fluence() -> None:
    draw = np.ones((1, 15))
    draw[0, DEPTH_SCATTER], draw[0, CELL_SCATTER] = 0.15, 0.0
    assert depth_width(draw)[0] == pytest.approx(0.15)
    draw[0, CELL_SCATTER] = 0.1
    assert depth_width(draw)[0] == pytest.approx(math.hypot(0.15, DEPTH_POWER * 0.1))
