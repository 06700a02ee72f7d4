"""Tell in words and numbers why a setting does what it does, from the light to the odds."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.etch.bench import EtchBench
from farface.etch.forecast import Forecast, forecast
from farface.etch.sensitivity import sensitivity
from farface.etch.unknowns import RISE_NEEDED, unknowns
from farface.etch.window import band
from farface.records import SEEN, Seen, Setting

# How many of the unknowns are named that a prediction hangs on.
HANGING: Final = 3
_JUDGED: Final = (("depth_per_pass_m", "Depth per pass"), ("margin", "The runaway margin"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """Hold one link of the chain: a quantity with its 90 % band, and a sentence that says what follows.

    ``median``, ``low`` and ``high`` are SI values of the unit that ``dimension`` names.
    """

    name: str
    dimension: str
    median: float
    low: float
    high: float
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Explanation:
    """Hold the chain for one setting, the odds of each outcome, and what the predictions hang on most."""

    setting: Setting
    steps: tuple[Step, ...]
    odds: dict[Seen, float]
    hangs_on: tuple[str, ...]

    def step(self, name: str) -> Step:
        """Return the link of that name."""
        return next(step for step in self.steps if step.name == name)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Chain:
    """Hold what the sentences speak of."""

    setting: Setting
    result: Forecast
    rise_k: float

    def median(self, quantity: str) -> float:
        return float(np.median(self.result.quantity(quantity)))


def explain(bench: EtchBench, setting: Setting, draws: NDArray[np.float64]) -> Explanation:
    """Explain one setting under draws of the unknowns; about 6 ms for 200 draws."""
    result = forecast(bench, [setting], draws)
    chain = _Chain(setting=setting, result=result, rise_k=float(np.median(draws[:, RISE_NEEDED])))
    steps = []
    for quantity, name, dimension, sentence in _LINKS:
        low, median, high = (float(part[0]) for part in band(result, quantity))
        steps.append(
            Step(
                name=name, dimension=dimension, median=median, low=low, high=high,
                sentence=sentence if isinstance(sentence, str) else sentence(chain),
            )
        )  # fmt: skip
    odds = result.odds.mean(axis=(0, 1))
    return Explanation(
        setting=setting,
        steps=tuple(steps),
        odds=dict(zip(SEEN, odds.tolist(), strict=True)),
        hangs_on=tuple(_hangs_on(bench, draws, result, *what) for what in _JUDGED),
    )


def _hangs_on(
    bench: EtchBench, draws: NDArray[np.float64], result: Forecast, quantity: str, words: str
) -> str:
    """Name the unknowns that move a prediction most."""
    found = sensitivity(draws, result.quantity(quantity)[:, 0])
    names = [unknown.name for unknown in unknowns(bench)]
    first = np.argsort(found.shares)[::-1][:HANGING]
    told = ", ".join(f"{names[i]} ({100.0 * found.shares[i]:.0f} %)" for i in first)
    together = f"{100.0 * found.explained_share:.0f} %"
    return f"{words} hangs most on {told}; all unknowns together explain {together} of its spread."


def _heating(chain: _Chain) -> str:
    needed = chain.rise_k / chain.median("heating_k")
    boil = "one pulse is enough" if needed <= 1.0 else f"about {needed:.1f} pulses' heat must add up"
    return (
        f"Added to the bath at the face by one pulse; it boils at a rise near {chain.rise_k:.0f} K: {boil}."
    )


def _ignition(chain: _Chain) -> str:
    interval, pulses = chain.median("pulses_between_flashes"), chain.setting.pulses_per_point
    if interval <= 1.2:
        return "Every pulse that meets liquid ignites."
    if interval <= 1.2 * pulses:
        return "Each point ignites."
    if interval <= 2.5 * pulses:
        return "About every second point ignites, helped by heat from those that did not."
    if interval <= 20.0 * pulses:
        return "Only now and then a point ignites, helped by heat from its neighbours."
    return "Hardly anything ignites: the bath only warms."


def _life(chain: _Chain) -> str:
    period_us = 1e6 / chain.setting.rate_hz
    return f"Pulses come every {period_us:.3g} us; those within this time meet an open cavity."


_LINKS: Final[tuple[tuple[str, str, str, str | Callable[[_Chain], str]], ...]] = (
    ("fluence_j_per_m2", "fluence at the far face", "J/m2", "Peak of the spot, after losses in the plate."),
    ("heating_k", "heating per pulse", "K", _heating),
    ("left_share", "heat left by earlier points", "1", "In units of one pulse's heating."),
    ("pulses_between_flashes", "pulses between flashes", "1", _ignition),
    ("overshoot", "overshoot", "1", "Rise at ignition over the rise needed: the more, the deeper it bursts."),
    ("column_m", "superheated column", "m", "How far below the face the bath bursts."),
    ("bubble_radius_m", "largest bubble", "m", "Radius from the energy of the superheat."),
    ("bubble_life_s", "cavity life", "s", _life),
    ("inside_per_flash", "pulses inside a cavity", "1", "They meet the deposit, not the bath: they etch."),
    ("absorptance", "absorptance of the deposit", "1", "Share of a pulse that it takes up, once steady."),
    ("removal_per_pulse_m", "removal per etching pulse", "m", "Glass taken at the peak of the spot."),
    ("depth_per_pass_m", "depth per pass", "m", "Of an area hatched at the pitch, all pulses together."),
    ("margin", "runaway margin", "1", "Fluence at which the deposit feeds itself, over the one used."),
)  # fmt: skip
