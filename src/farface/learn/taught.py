"""Say what the plates taught: prior beside posterior for every unknown, plate offsets, and contradictions."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from farface.etch.bench import EtchBench
from farface.etch.forecast import forecast
from farface.etch.unknowns import Unknown, unknowns
from farface.kernel import show_quantity
from farface.learn.depth import LEAST_DEPTH_M, depth_width
from farface.learn.plates import in_order, on_plate
from farface.learn.posterior import Posterior
from farface.learn.seen import odds_text, seen_word
from farface.records import SEEN, Outcome

Verdict = Literal["learned", "narrowed", "not learned from these plates"]

# Widths of posterior over prior, in logarithms, below which an unknown counts as learned, as narrowed.
LEARNED_SHARE: Final = 0.5
NARROWED_SHARE: Final = 0.85
# 5 % and 95 % of a standard normal.
NINETY: Final = 1.6449
# Outcomes that the fit gives lower odds than this contradict it.
CONFLICT_ODDS: Final = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """Hold a median and the ends of its 90 % band, SI, and the same as a person reads it."""

    median: float
    low: float
    high: float
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Taught:
    """Hold one unknown before and after; ``width_share`` is posterior width over prior width, in logs."""

    unknown: Unknown
    before: Band
    after: Band
    width_share: float
    verdict: Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateOffset:
    """Hold how much more fluence than usual a plate saw, as a factor: median and 90 % band."""

    plate: str
    median: float
    low: float
    high: float
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Conflict:
    """Hold an outcome that the fit finds unlikely, its odds, and a sentence that says so."""

    outcome: Outcome
    odds: float
    sentence: str


def taught(bench: EtchBench, posterior: Posterior) -> tuple[Taught, ...]:
    """Set every unknown's prior beside its posterior, the best learned first."""
    rows = [_taught(u, posterior.draws[:, i]) for i, u in enumerate(unknowns(bench))]
    return tuple(sorted(rows, key=lambda row: row.width_share))


def _taught(unknown: Unknown, draws: NDArray[np.float64]) -> Taught:
    reach = unknown.factor**NINETY
    share = float(np.log(draws).std() / math.log(unknown.factor))
    low, median, high = np.quantile(draws, (0.05, 0.5, 0.95)).tolist()
    return Taught(
        unknown=unknown,
        before=_band(unknown.median, unknown.median / reach, unknown.median * reach, unknown.dimension),
        after=_band(median, low, high, unknown.dimension),
        width_share=share,
        verdict=_verdict(share),
    )


def _verdict(share: float) -> Verdict:
    if share < LEARNED_SHARE:
        return "learned"
    return "narrowed" if share < NARROWED_SHARE else "not learned from these plates"


def _band(median: float, low: float, high: float, dimension: str) -> Band:
    shown = [show_quantity(value, dimension) for value in (median, low, high)]
    return Band(median=median, low=low, high=high, text=f"{shown[0]} ({shown[1]} to {shown[2]})")


def plate_offsets(posterior: Posterior) -> tuple[PlateOffset, ...]:
    """Say for every plate how much more or less fluence it saw than the bench's usual plate."""
    rows = []
    for plate, offset in zip(posterior.plates, posterior.plate_offsets.T, strict=True):
        low, median, high = np.exp(np.quantile(offset, (0.05, 0.5, 0.95))).tolist()
        more = "more" if median >= 1.0 else "less"
        sentence = (
            f"Plate {plate} saw {100.0 * abs(median - 1.0):.0f} % {more} fluence than the usual plate "
            f"({100.0 * (low - 1.0):+.0f} % to {100.0 * (high - 1.0):+.0f} %)."
        )
        rows.append(PlateOffset(plate=plate, median=median, low=low, high=high, sentence=sentence))
    return tuple(rows)


def conflicts(
    bench: EtchBench, posterior: Posterior, outcomes: Sequence[Outcome], *, threads: int = 2
) -> tuple[Conflict, ...]:
    """Name the outcomes that the fit finds unlikely, the unlikeliest first.

    An outcome's odds are those of its class, and for a measured depth also those of a depth at least as
    far out, both averaged over the posterior. The fit has seen the outcome, so its odds are on the high
    side; films, felt depths and piercings are not looked at.
    """
    found: list[Conflict] = []
    width = depth_width(posterior.draws)
    for plate, offset in zip(posterior.plates, posterior.plate_offsets.T, strict=True):
        here = [o for o in outcomes if o.plate == plate]
        if not here:
            continue
        settings = in_order([o.setting for o in here])
        ahead = forecast(bench, settings, on_plate(posterior.draws, offset), threads=threads)
        at = {setting: i for i, setting in enumerate(settings)}
        for o in here:
            odds = ahead.odds[:, at[o.setting]].mean(axis=0)
            depth_m = ahead.quantity("depth_per_pass_m")[:, at[o.setting]]
            found += [c for c in (_class_conflict(o, odds), _depth_conflict(o, depth_m, width)) if c]
    return tuple(sorted(found, key=lambda conflict: conflict.odds))


def _class_conflict(o: Outcome, odds: NDArray[np.float64]) -> Conflict | None:
    at = SEEN.index(o.seen)
    if odds[at] >= CONFLICT_ODDS:
        return None
    likely = int(np.argmax(odds))
    sentence = (
        f"Plate {o.plate}, cell {o.cell}: written down as '{seen_word(o.seen)}', which the fit gives "
        f"{odds_text(odds[at])}; it expects '{seen_word(SEEN[likely])}' ({odds_text(odds[likely])})."
    )
    return Conflict(outcome=o, odds=float(odds[at]), sentence=sentence)


def _depth_conflict(o: Outcome, depth_m: NDArray[np.float64], width: NDArray[np.float64]) -> Conflict | None:
    """Look at how far out a measured depth of a steady cell lies, on either side."""
    from scipy.special import ndtr

    if o.seen != "steady" or o.depth is None or o.depth.method == "feel_at_least" or o.depth.depth_m <= 0.0:
        return None
    log_depth = np.log(np.maximum(depth_m, LEAST_DEPTH_M) * o.setting.passes)
    spread = np.hypot(width, o.depth.sd_m / o.depth.depth_m)
    below = float(ndtr((math.log(o.depth.depth_m) - log_depth) / spread).mean())
    odds = 2.0 * min(below, 1.0 - below)
    if odds >= CONFLICT_ODDS:
        return None
    side = "deeper" if below > 0.5 else "shallower"
    sentence = (
        f"Plate {o.plate}, cell {o.cell}: {show_quantity(o.depth.depth_m, 'm')} deep, {side} than the fit "
        f"expects ({show_quantity(float(np.exp(np.median(log_depth))), 'm')}; odds {odds_text(odds)})."
    )
    return Conflict(outcome=o, odds=odds, sentence=sentence)
