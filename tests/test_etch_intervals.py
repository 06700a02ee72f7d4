import numpy as np
import pytest

from bench_records import BATH, RIG
from farface.etch.bench import etch_bench
from farface.etch.forecast import forecast
from farface.etch.intervals import flash_intervals
from farface.etch.unknowns import unknowns
from farface.records import Setting

BENCH = etch_bench(RIG, BATH)
DRAW = np.array([u.median for u in unknowns(BENCH)])
LONGEST = 4000
# The forecast stops when this share of points still moves.
SETTLING = 3e-3


def intervals(power_w: float, pulses: int = 4, rate_hz: float = 40e3) -> tuple[np.ndarray, Setting]:
    setting = Setting(
        pulse_energy_j=power_w / rate_hz, rate_hz=rate_hz, pulses_per_point=pulses, pitch_m=15e-6, passes=1
    )
    return flash_intervals(BENCH, setting, DRAW, longest=LONGEST), setting


@pytest.mark.exact
@pytest.mark.parametrize(("power_w", "pulses"), [(4.0, 4), (6.0, 8), (10.0, 4), (10.0, 10), (30.0, 6)])
def test_the_mean_wait_is_the_forecasts_interval(power_w: float, pulses: int) -> None:
    """Renewal: pulses over flashes, counted along the line, equal the mean of the distribution."""
    odds, setting = intervals(power_w, pulses)
    assert odds.sum() == pytest.approx(1.0, abs=1e-3)
    mean = float(np.arange(1, LONGEST + 1) @ odds)
    expected = forecast(BENCH, [setting], DRAW[None]).quantity("pulses_between_flashes")[0, 0]
    assert mean == pytest.approx(expected, rel=SETTLING)


@pytest.mark.exact
def test_rare_flashes_come_after_exponential_waits() -> None:
    """Far below the edge every point tries its luck anew: the spread of waits nears their mean."""
    odds, _ = intervals(4.0)
    waits = np.arange(1, LONGEST + 1)
    mean = float(waits @ odds)
    spread = float(np.sqrt(waits**2 @ odds - mean**2))
    assert mean > 40.0
    assert spread == pytest.approx(mean, rel=0.1)


@pytest.mark.common_practice
def test_at_half_the_rate_waits_are_regular() -> None:
    """The same mean power at 20 kHz ignites each point: waits are two to five pulses."""
    odds, _ = intervals(8.0, 4, 20e3)
    assert odds[1:5].sum() > 0.95
