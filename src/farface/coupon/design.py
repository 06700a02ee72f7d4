"""Choose the settings that a coupon tries, and the order in which they are run."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from farface.kernel import Missing, OutOfRange
from farface.records import Setting
from farface.records.knobs import KNOBS, Knob

Spread = Literal["latin_hypercube", "sobol"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """Hold one setting to be tried, the block it is run in, and its turn in the run (both from 1)."""

    setting: Setting
    block: int
    order: int


def factorial(base: Setting, levels: Mapping[str, Sequence[float]]) -> tuple[Setting, ...]:
    """Combine every level of every named factor; the last-named varies fastest, the rest is ``base``.

    ``levels`` maps a field of `Setting` to its values in SI. Raises `Missing` for a name that is no factor
    or has no level, `OutOfRange` for a value that makes no sense.
    """
    for field, values in levels.items():
        if not len(values):
            raise Missing(f"{_factor(field).words} has no level. Give at least one, or leave it out.")
    return tuple(
        _with(base, dict(zip(levels, combination, strict=True))) for combination in product(*levels.values())
    )


def spread(
    base: Setting,
    ranges: Mapping[str, tuple[float, float]],
    *,
    trials: int,
    how: Spread,
    rng: np.random.Generator,
) -> tuple[Setting, ...]:
    """Spread settings evenly over ranges of several factors, by a Latin hypercube or a shifted Sobol row.

    A factor that counts or scales is spread evenly in its logarithm; whole factors are rounded after, so
    that two trials may then agree in them. Raises as `factorial`.
    """
    return tuple(
        _with(
            base,
            {
                field: _between(_factor(field), low, high, float(share))
                for (field, (low, high)), share in zip(ranges.items(), shares, strict=True)
            },
        )
        for shares in _SPREADS[how](trials, len(ranges), rng)
    )


def deal(
    settings: Sequence[Setting], *, plates: int, replicates: int, rng: np.random.Generator
) -> tuple[tuple[tuple[Setting, ...], int], ...]:
    """Share settings out over plates: for each plate its settings and how often it repeats them.

    Where the repeats can be shared out evenly every plate holds every setting, so that plates compare. Else
    each plate gets a part drawn at random and repeats it. Raises `OutOfRange` for more plates than settings.
    """
    if plates < 1 or (replicates % plates and plates > len(settings)):
        raise OutOfRange(
            f"{len(settings)} settings with {replicates} repeats cannot be shared out over {plates} plates: "
            "every plate needs a setting. Give fewer plates."
        )
    if replicates % plates == 0:
        return ((tuple(settings), replicates // plates),) * plates
    shares = np.array_split(rng.permutation(len(settings)), plates)
    return tuple((tuple(settings[i] for i in share), replicates) for share in shares)


def order_trials(
    settings: Sequence[Setting], *, replicates: int = 1, blocks: int = 1, rng: np.random.Generator
) -> tuple[Trial, ...]:
    """Repeat the settings, share the repeats out into blocks, and draw the order of running.

    A block holds whole repeats and is run from its first to its last trial before the next begins, in an
    order of its own; so a bath refreshed or a focus set anew between blocks touches all settings alike.
    The trials come back repeat by repeat, in the order of ``settings``.
    """
    if not settings or replicates < 1 or blocks < 1 or replicates % blocks:
        raise OutOfRange(
            f"{len(settings)} settings, {replicates} repeats and {blocks} blocks cannot be shared out: there "
            "must be at least one of each, and the same number of whole repeats in every block. Change one."
        )
    per_block = len(settings) * (replicates // blocks)
    turns = np.concatenate([block * per_block + rng.permutation(per_block) for block in range(blocks)])
    return tuple(
        Trial(setting=settings[i % len(settings)], block=i // per_block + 1, order=int(turn) + 1)
        for i, turn in enumerate(turns)
    )


def _latin_hypercube(count: int, dimensions: int, rng: np.random.Generator) -> NDArray[np.float64]:
    """Put one point into each of ``count`` slices of every dimension, shape (count, dimensions)."""
    slices = np.column_stack([rng.permutation(count) for _ in range(dimensions)])
    return np.asarray((slices + rng.random(slices.shape)) / count)


def _sobol(count: int, dimensions: int, rng: np.random.Generator) -> NDArray[np.float64]:
    """Take the first points of the Sobol sequence, all shifted by one random step around the unit cube."""
    from scipy.stats import qmc  # loads for a third of a second, which only this function should cost

    points = qmc.Sobol(d=dimensions, scramble=False).random_base2(math.ceil(math.log2(max(count, 2))))
    return np.asarray((points[:count] + rng.random(dimensions)) % 1.0)


_SPREADS: Final = {"latin_hypercube": _latin_hypercube, "sobol": _sobol}


def _factor(field: str) -> Knob:
    if field not in KNOBS:
        raise Missing(f'"{field}" is nothing that a coupon can vary. Choose among {", ".join(KNOBS)}.')
    return KNOBS[field]


def _with(base: Setting, values: Mapping[str, float]) -> Setting:
    """Replace fields of a setting, each checked."""
    checked = {field: _checked(_factor(field), value) for field, value in values.items()}
    return replace(base, **checked)  # type: ignore[arg-type]


def _checked(factor: Knob, value: float) -> float | int:
    if not math.isfinite(value) or (factor.even_in == "ratio" and value <= 0.0):
        raise OutOfRange(
            f"{factor.words} is {factor.shown(value)}, but must be above zero. Give another level."
        )
    if factor.whole and value != round(value):
        raise OutOfRange(f"{factor.words} is {value:g}, but must be a whole number. Give another level.")
    return round(value) if factor.whole else float(value)


def _between(factor: Knob, low: float, high: float, share: float) -> float:
    """Find the value at a share of the way from low to high, on the factor's own scale."""
    if factor.even_in == "difference":
        return low + share * (high - low)
    if not 0.0 < low <= high:
        raise OutOfRange(
            f"{factor.words} runs from {factor.shown(low)} to {factor.shown(high)}, but a range must begin "
            "above zero and not end below its beginning. Give another range."
        )
    value = float(low * (high / low) ** share)
    return float(round(value)) if factor.whole else value
