"""Name what the model does not know of a bench, with a prior and a reason for each.

Every unknown is positive; its prior is log-normal with the given median and the given factor, the ratio
that one standard deviation spans. Wide on purpose: before any coupon is run the window must look uncertain.
"""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.etch.bench import EtchBench, thermal_resistance_k
from farface.materials import glass

# Positions in a draw, shape (UNKNOWN_COUNT,); the kernels read draws by these.
ABSORPTION: Final = 0
SPOT: Final = 1
RISE_NEEDED: Final = 2
DISPERSION: Final = 3
BUBBLE_SHARE: Final = 4
THRESHOLD: Final = 5
REMOVAL_SHARE: Final = 6
GROWTH: Final = 7
WEAR: Final = 8
SEED: Final = 9
PASSIVATION: Final = 10
RESIDUE: Final = 11
BREAKING: Final = 12
CELL_SCATTER: Final = 13
DEPTH_SCATTER: Final = 14
UNKNOWN_COUNT: Final = 15

# Where the map's fluence scale F_c was tried first, and what breaks soda-lime slides; both in J/m2.
GROWTH_FLUENCE_J_PER_M2: Final = 1e6
SODA_LIME_BREAKING_J_PER_M2: Final = 2e6
# The glass that the breaking fluence refers to.
SLIDE: Final = "soda_lime_slide"
# The most that a low-expansion glass is credited with over soda-lime: cracks also start mechanically.
RESISTANCE_CREDIT: Final = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Unknown:
    """Describe one unknown; ``median`` is SI, ``shown`` the unit in which a person reads it."""

    name: str
    median: float
    factor: float
    dimension: str
    meaning: str
    reason: str


def unknowns(bench: EtchBench) -> tuple[Unknown, ...]:
    """List the unknowns of a bench in the order of a draw; what was measured there narrows its prior."""
    absorption, spot = bench.absorption_per_m, bench.spot_radius_m
    credit = min(bench.thermal_resistance_k / thermal_resistance_k(glass(SLIDE)), RESISTANCE_CREDIT)
    return (
        Unknown(
            name="absorption",
            median=absorption.value,
            factor=math.exp(max(absorption.sd / absorption.value, 0.01)),
            dimension="1/m",
            meaning="natural absorption coefficient of the bath at the laser's wavelength",
            reason=f"from the bath, {absorption.how}",
        ),
        Unknown(
            name="spot radius",
            median=spot.value,
            factor=math.exp(max(spot.sd / spot.value, 0.01)),
            dimension="m",
            meaning="1/e2 radius of the beam on the far face",
            reason=f"from the rig, {spot.how}",
        ),
        Unknown(
            name="rise to ignite",
            median=bench.superheat_rise_k,
            factor=1.15,
            dimension="K",
            meaning="temperature rise at which the bath boils within microseconds",
            reason="superheat limit of water [skripov1974]; dust and deposit lower it",
        ),
        Unknown(
            name="ignition scatter",
            median=0.10,
            factor=1.6,
            dimension="1",
            meaning="pulse-to-pulse scatter of the rise to ignite, as a log-normal width",
            reason="assumed; no published number",
        ),
        Unknown(
            name="bubble share",
            median=0.15,
            factor=1.5,
            dimension="1",
            meaning="share of the superheat that becomes bubble energy",
            reason="0.15 to 0.20 for laser bubbles [linz2025]",
        ),
        Unknown(
            name="removal threshold",
            median=5e3,
            factor=2.0,
            dimension="J/m2",
            meaning="absorbed fluence at which glass begins to leave",
            reason="0.2 to 0.5 J/cm2 absorbed, from metal films and gallium [hopp2007, vass2013]",
        ),
        Unknown(
            name="removal share",
            median=0.10,
            factor=1.6,
            dimension="1",
            meaning="share of the absorbed heat that leaves with the glass (at 1e10 J/m3)",
            reason="0.04 to 0.16 from back-face etch rates [zimmer2007, hopp2007]",
        ),
        Unknown(
            name="growth fluence",
            median=GROWTH_FLUENCE_J_PER_M2,
            factor=1.6,
            dimension="J/m2",
            meaning="fluence F_c at which a bare deposit outgrows its removal, without left-over heat",
            reason="assumed; no published number",
        ),
        Unknown(
            name="wear length",
            median=2e-6,
            factor=2.0,
            dimension="m",
            meaning="depth of glass that carries the deposit off with it",
            reason="assumed; no published number",
        ),
        Unknown(
            name="seed",
            median=1e-3,
            factor=3.0,
            dimension="1",
            meaning="optical depth laid down by one ignition at 1 mol/L of copper",
            reason="assumed; no published number",
        ),
        Unknown(
            name="passivation",
            median=0.015,
            factor=3.0,
            dimension="1",
            meaning="growth of the phosphate skin per etching pulse at 1 mol/L of acid",
            reason="assumed; no published number",
        ),
        Unknown(
            name="residual heat",
            median=0.3,
            factor=1.5,
            dimension="1",
            meaning="share of the absorbed heat that stays on the glass under an open cavity",
            reason="assumed; no published number",
        ),
        Unknown(
            name="breaking fluence",
            median=SODA_LIME_BREAKING_J_PER_M2 * credit,
            factor=1.6,
            dimension="J/m2",
            meaning="peak fluence at which half of the cells crack",
            reason="cracks above some 1e2 J/cm2 in silicate glass [rjpcb2017], by thermal-shock resistance",
        ),
        Unknown(
            name="cell scatter",
            median=0.10,
            factor=1.5,
            dimension="1",
            meaning="scatter of fluence from cell to cell, as a log-normal width",
            reason="assumed: focus, thickness and energy of a small bench",
        ),
        Unknown(
            name="depth scatter",
            median=0.15,
            factor=1.5,
            dimension="1",
            meaning="scatter of depth from cell to cell that fluence does not explain",
            reason="assumed; no published number",
        ),
    )


def draw_prior(bench: EtchBench, count: int, rng: np.random.Generator) -> NDArray[np.float64]:
    """Draw unknowns from the prior, shape (count, UNKNOWN_COUNT), each in SI."""
    listed = unknowns(bench)
    median = np.array([u.median for u in listed])
    width = np.log([u.factor for u in listed])
    return np.asarray(median * np.exp(width * rng.standard_normal((count, UNKNOWN_COUNT))))


def log_prior(bench: EtchBench, draws: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the log density of the logarithms of draws, up to a constant, shape (draws,)."""
    listed = unknowns(bench)
    median = np.array([u.median for u in listed])
    width = np.log([u.factor for u in listed])
    return np.asarray(-0.5 * (((np.log(draws) - np.log(median)) / width) ** 2).sum(axis=-1))
