"""Tell how many pulses pass between flashes: the whole distribution, not only its mean."""

import numpy as np
from numpy.typing import NDArray

from farface.etch.bench import EtchBench
from farface.etch.column import Ages, Firing, ages, column_shares
from farface.etch.forecast import how_fired
from farface.etch.ignition import balance, pulses_met
from farface.records import Setting


def flash_intervals(
    bench: EtchBench, setting: Setting, draw: NDArray[np.float64], *, longest: int
) -> NDArray[np.float64]:
    """Return the odds that the next flash comes 1, 2, .. ``longest`` pulses later, shape (longest,).

    Follows each ignition of a settled line: the pulses that meet the cavity, the rest of its point with a
    fresh column, then point after point with the heat that cold neighbours leave. Odds beyond
    ``longest`` are left out. About 5 ms; `farface.etch.ignition` holds the model.
    """
    row = np.array(
        [setting.pulse_energy_j, setting.rate_hz, setting.pulses_per_point, setting.pitch_m, setting.passes,
         setting.focus_offset_m], dtype=np.float64,
    )  # fmt: skip
    firing, column, heating_k = how_fired(row, draw, bench.numbers(), bench.liquid)
    shares = column_shares(firing, column, bench.liquid, bench.drain)
    _, starts, left = balance(heating_k, firing, column, shares, bench.liquid)
    warm = ages(heating_k, left, column, shares, bench.liquid)
    fresh = ages(heating_k, 0.0, column, shares, bench.liquid)
    odds = np.zeros(longest)
    total = 0.0
    for start, n, ignited, kind in _ignitions(firing, warm, fresh, starts):
        total += ignited
        _add_wait(odds, ignited, n, kind.life_s[n - start], firing, warm, fresh)
    return odds / total if total > 0.0 else odds


def _ignitions(
    firing: Firing, warm: Ages, fresh: Ages, starts: NDArray[np.float64]
) -> list[tuple[int, int, float, Ages]]:
    """List every way a point can ignite: where its column started, which pulse, how often, warm or fresh."""
    open_at = starts.copy()
    found = []
    for start in range(firing.pulses):
        surviving = open_at[start]
        kind = warm if start == 0 else fresh
        for n in range(start, firing.pulses):
            ignited = surviving * kind.hazard[n - start]
            surviving -= ignited
            if ignited > 0.0:
                found.append((start, n, float(ignited), kind))
                here, _ = pulses_met(kind.life_s[n - start], n, firing)
                again = n + 1 + int(here + 0.5)
                if again < firing.pulses:
                    open_at[again] += ignited
    return found


def _add_wait(
    odds: NDArray[np.float64],
    share: float,
    n: int,
    cavity_life_s: float,
    firing: Firing,
    warm: Ages,
    fresh: Ages,
) -> None:
    """Add the odds of the wait after an ignition by pulse ``n``, weighted by ``share``."""
    here, beyond = pulses_met(cavity_life_s, n, firing)
    waited = int(here + 0.5)
    start, kind = n + 1 + waited, fresh
    if start >= firing.pulses:
        waited = firing.pulses - 1 - n + int(beyond + 0.5)
        start = int(beyond + 0.5)
        kind = fresh if start > 0 else warm
    surviving = share
    while waited < odds.size and surviving > 0.0:
        for age in range(firing.pulses - start):
            waited += 1
            if waited > odds.size:
                return
            odds[waited - 1] += surviving * kind.hazard[age]
            surviving *= 1.0 - kind.hazard[age]
        start, kind = 0, warm
