"""Hold what is true on the virtual bench and hidden from whoever learns from its plates.

Everything here is invented. No number is a measurement; each was chosen so that the bench behaves as
benches do, and so that the fitted model is wrong about it in known ways.
"""

from dataclasses import dataclass
from typing import Final

from farface.records import DepthMethod


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingError:
    """Say how one method of reading depth errs.

    ``picked_share`` of the cells are read by it. A reading is depth (1 + ``bias_share``) plus a normal
    error with standard deviation ``sd_m`` + ``sd_share`` depth; that deviation is what the person states.
    """

    method: DepthMethod
    picked_share: float
    bias_share: float
    sd_m: float
    sd_share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HiddenTruth:
    """Hold the hidden truth of one invented bench.

    Light: ``transmitted_share`` of a pulse reaches the far face; the true spot is ``spot_excess_m`` wider
    than the rig says; the focus stands ``focus_error_m`` off at the first cell and moves by
    ``focus_drift_m`` until the last; a plate's thickness scatters by ``thickness_sd_m``.
    Bath: decadic ``molar_absorption_m2_per_mol`` and ``water_absorption_per_m``; the bath loses
    ``fading_share`` of its absorption over one plate and a further factor e every ``fading_s`` of age.
    Flash: the rise needed is log-normal around ``ignition_rise_k`` with spread ``ignition_spread_share``;
    of the heat above ``boiling_rise_k`` ``cavity_energy_share`` drives the cavity, which uses up
    ``heat_taken_share`` of the heat around; it opens at the face if it lies less than ``contact_share`` of
    its radius below.
    Removal: a step is ``removal_m`` ln(absorbed / ``threshold_j_per_m2``); ``heat_left_share`` of what was
    absorbed stays in the glass, whose threshold is gone at a rise of ``softening_k``.
    Deposit (as optical depth): ``seed_m3_per_mol`` copper a flash; up to ``gain_share`` an etching pulse,
    half of it at ``gain_half_j_per_m2``, twice as much at a rise of ``gain_rise_k``; worn off over
    ``wear_m``; ``kept_share`` outlasts the rinse between passes.
    Acid skin: ``skin_m3_per_mol`` acid a flash, worn off over ``skin_wear_m``; it holds the gain back.
    Ends: steps above ``runaway_step_m`` run away; a place breaks that absorbs ``breaking_j_per_m2``
    (log-normal, ``breaking_spread_share``).
    Scatter: fluence and threshold of each cell by ``cell_spread_share``; a class is misread as its
    neighbour with ``misread_risk``; depths err as ``readings`` say.
    """

    name: str
    transmitted_share: float
    spot_excess_m: float
    focus_error_m: float
    focus_drift_m: float
    thickness_sd_m: float
    molar_absorption_m2_per_mol: float
    water_absorption_per_m: float
    fading_share: float
    fading_s: float
    ignition_rise_k: float
    ignition_spread_share: float
    boiling_rise_k: float
    cavity_energy_share: float
    heat_taken_share: float
    contact_share: float
    removal_m: float
    threshold_j_per_m2: float
    softening_k: float
    heat_left_share: float
    seed_m3_per_mol: float
    gain_share: float
    gain_half_j_per_m2: float
    gain_rise_k: float
    wear_m: float
    kept_share: float
    skin_m3_per_mol: float
    skin_wear_m: float
    runaway_step_m: float
    breaking_j_per_m2: float
    breaking_spread_share: float
    cell_spread_share: float
    misread_risk: float
    readings: tuple[ReadingError, ...]


DEMO_READINGS: Final = (
    ReadingError(method="focus_travel", picked_share=0.55, bias_share=0.03, sd_m=2e-6, sd_share=0.04),
    ReadingError(method="section", picked_share=0.15, bias_share=0.0, sd_m=1.5e-6, sd_share=0.02),
    ReadingError(method="stylus", picked_share=0.15, bias_share=0.0, sd_m=0.3e-6, sd_share=0.02),
    ReadingError(method="feel_at_least", picked_share=0.15, bias_share=-0.4, sd_m=1e-6, sd_share=0.1),
)

# Invented.
DEMO_TRUTH: Final = HiddenTruth(
    name="the demo's invented bench",
    transmitted_share=0.94,
    spot_excess_m=0.8e-6,
    focus_error_m=0.1e-3,
    focus_drift_m=0.25e-3,
    thickness_sd_m=30e-6,
    molar_absorption_m2_per_mol=0.47,
    water_absorption_per_m=14.7,
    fading_share=0.06,
    fading_s=30 * 86400.0,
    ignition_rise_k=272.0,
    ignition_spread_share=0.11,
    boiling_rise_k=80.0,
    cavity_energy_share=0.16,
    heat_taken_share=0.95,
    contact_share=0.65,
    removal_m=0.26e-6,
    threshold_j_per_m2=5e3,
    softening_k=1400.0,
    heat_left_share=0.3,
    seed_m3_per_mol=2e-5,
    gain_share=0.35,
    gain_half_j_per_m2=6e4,
    gain_rise_k=600.0,
    wear_m=0.6e-6,
    kept_share=0.3,
    skin_m3_per_mol=2.5e-4,
    skin_wear_m=0.9e-6,
    runaway_step_m=0.85e-6,
    breaking_j_per_m2=8e4,
    breaking_spread_share=0.15,
    cell_spread_share=0.04,
    misread_risk=0.04,
    readings=DEMO_READINGS,
)
