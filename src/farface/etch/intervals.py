"""Tell how many pulses pass between flashes: the whole distribution, not only its mean."""

from collections.abc import Iterator

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
    warm, fresh = (ages(heating_k, share, column, shares, bench.liquid) for share in (left, 0.0))
    odds = np.zeros(longest)
    total = 0.0
    for ignited, waited, start in _ignitions(firing, warm, fresh, starts):
        total += ignited
        _add_wait(odds, ignited, firing.pulses, waited, start, warm, fresh)
    return odds / total if total > 0.0 else odds


def _ignitions(
    firing: Firing, warm: Ages, fresh: Ages, starts: NDArray[np.float64]
) -> Iterator[tuple[float, int, int]]:
    """Yield every way a point can ignite: how often, how many pulses pass before a column starts anew, and
    with which pulse of this point, or the next, it does.
    """
    open_at, pulses = starts.copy(), firing.pulses
    for start in range(pulses):
        surviving = open_at[start]
        kind = warm if start == 0 else fresh
        for n in range(start, pulses):
            ignited = float(surviving * kind.hazard[n - start])
            surviving -= ignited
            if ignited == 0.0:
                continue
            here, beyond = pulses_met(kind.life_s[n - start], n, firing)
            for met, share in _whole(here, ignited):
                if n + 1 + met < pulses:
                    open_at[n + 1 + met] += share
                    yield share, met, n + 1 + met
                else:
                    for later, part in _whole(min(beyond, pulses), share):
                        yield part, pulses - 1 - n + later, later


def _whole(count: float, share: float) -> Iterator[tuple[int, float]]:
    """Yield the whole numbers below and above a mean count, and what each takes of a share."""
    for whole in (int(count), int(count) + 1):
        if (part := share * (1.0 - abs(count - whole))) > 0.0:
            yield whole, part


def _add_wait(
    odds: NDArray[np.float64],
    share: float,
    pulses: int,
    waited: int,
    start: int,
    warm: Ages,
    fresh: Ages,
) -> None:
    """Add the odds of the wait that goes on from ``start`` after ``waited`` pulses, weighted by ``share``."""
    surviving = share
    while waited < odds.size and surviving > 0.0:
        hazard = (warm if start == 0 else fresh).hazard
        for age in range(min(pulses - start, odds.size - waited)):
            odds[waited] += surviving * hazard[age]
            surviving *= 1.0 - hazard[age]
            waited += 1
        start = 0
