"""Work out what truly holds in one cell of the virtual bench: its light, its bath, its scatter."""

import math

import numpy as np
from numpy.typing import NDArray

from farface.coupon.hidden_truth import HiddenTruth
from farface.coupon.pulse_by_pulse import Conditions
from farface.kernel import LN10
from farface.records import Bath, Rig, Setting

# The bench's own water and glass; the invented truth needs them no better than this.
_GLASS_INDEX, _WATER_INDEX = 1.51, 1.32
_LIQUID_HEAT_J_PER_M3_K, _LIQUID_DIFFUSIVITY_M2_PER_S = 4.18e6, 1.46e-7
_LIQUID_DENSITY_KG_PER_M3, _OVERPRESSURE_PA = 1040.0, 99e3
_GLASS_EFFUSIVITY, _GLASS_DIFFUSIVITY_M2_PER_S = 1400.0, 5e-7

# A pulse remembers at least so many earlier ones, and four stays at its point; older heat hardly counts.
_REMEMBERED, _REMEMBERED_STAYS, _REMEMBERED_MOST = 64, 4, 512


def conditions_of(
    setting: Setting,
    rig: Rig,
    bath: Bath,
    truth: HiddenTruth,
    *,
    progress_share: float,
    thickness_error_m: float,
    scatter: tuple[float, float] = (0.0, 0.0),
) -> Conditions:
    """Work out what truly holds in one cell: ``progress_share`` of the plate is done when it is fired.

    ``scatter`` holds two standard normals, of the cell's fluence and of its removal threshold.
    """
    spot_m = _spot(setting, rig, truth, progress_share=progress_share, thickness_error_m=thickness_error_m)
    lit_j = setting.pulse_energy_j * truth.transmitted_share * math.exp(truth.cell_spread_share * scatter[0])
    fluence = 2.0 * lit_j / (math.pi * spot_m**2)
    absorption_per_m = _absorption(bath, truth, progress_share)
    return Conditions(
        spot_radius_m=spot_m,
        fluence_j_per_m2=fluence,
        absorption_per_m=absorption_per_m,
        pulse_rise_k=absorption_per_m * fluence / _LIQUID_HEAT_J_PER_M3_K,
        liquid_diffusivity_m2_per_s=_LIQUID_DIFFUSIVITY_M2_PER_S,
        liquid_heat_j_per_m3_k=_LIQUID_HEAT_J_PER_M3_K,
        boiling_rise_k=truth.boiling_rise_k,
        cavity_energy_share=truth.cavity_energy_share,
        heat_taken_share=truth.heat_taken_share,
        contact_share=truth.contact_share,
        overpressure_pa=_OVERPRESSURE_PA,
        liquid_density_kg_per_m3=_LIQUID_DENSITY_KG_PER_M3,
        removal_m=truth.removal_m,
        threshold_j_per_m2=truth.threshold_j_per_m2 * math.exp(truth.cell_spread_share * scatter[1]),
        softening_k=truth.softening_k,
        heat_left_share=truth.heat_left_share,
        glass_effusivity_j_per_m2_k_sqrt_s=_GLASS_EFFUSIVITY,
        glass_diffusivity_m2_per_s=_GLASS_DIFFUSIVITY_M2_PER_S,
        seed_share=truth.seed_m3_per_mol * bath.copper_mol_per_m3,
        gain_share=truth.gain_share,
        gain_half_j_per_m2=truth.gain_half_j_per_m2,
        gain_rise_k=truth.gain_rise_k,
        wear_m=truth.wear_m,
        skin_share=min(1.0, truth.skin_m3_per_mol * bath.acid_mol_per_m3),
        skin_wear_m=truth.skin_wear_m,
        kept_share=truth.kept_share,
        runaway_step_m=truth.runaway_step_m,
        pitch_m=setting.pitch_m,
        remembered=min(_REMEMBERED_MOST, max(_REMEMBERED, _REMEMBERED_STAYS * setting.pulses_per_point)),
    )


def _spot(
    setting: Setting, rig: Rig, truth: HiddenTruth, *, progress_share: float, thickness_error_m: float
) -> float:
    """Widen the true spot by how far the focus stands off the far face, as lengths in air."""
    laser, lens = rig.laser, rig.lens
    waist_m = laser.m2 * laser.wavelength_m * lens.focal_m / (math.pi * lens.beam_radius_m)
    stated_m = rig.spot_radius_m.value if rig.spot_radius_m else waist_m
    spot_m = stated_m + truth.spot_excess_m
    rayleigh_m = math.pi * spot_m**2 / (laser.m2 * laser.wavelength_m)
    off_m = truth.focus_error_m + truth.focus_drift_m * progress_share
    off_m += setting.focus_offset_m / _WATER_INDEX - thickness_error_m / _GLASS_INDEX
    return spot_m * math.hypot(1.0, off_m / rayleigh_m)


def _absorption(bath: Bath, truth: HiddenTruth, progress_share: float) -> float:
    """Give the bath's true natural absorption coefficient after the part of the plate that is done."""
    fresh_per_m = LN10 * truth.molar_absorption_m2_per_mol * bath.copper_mol_per_m3
    left_share = (1.0 - truth.fading_share * progress_share) * math.exp(-bath.age_s / truth.fading_s)
    return truth.water_absorption_per_m + fresh_per_m * left_share


def needed_rises_k(count: int, truth: HiddenTruth, rng: np.random.Generator) -> NDArray[np.float64]:
    """Draw the temperature rise that each pulse needs to flash."""
    return np.asarray(
        truth.ignition_rise_k * np.exp(truth.ignition_spread_share * rng.standard_normal(count))
    )
