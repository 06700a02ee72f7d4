"""Give the spot at the far face of a rig: its radius, the energy that arrives, and the peak fluence."""

import math
from dataclasses import dataclass

from farface.materials import glass, liquid
from farface.optics.beam import peak_fluence_j_per_m2, radius_at_m, rayleigh_range_m, waist_radius_m
from farface.optics.plate import PlateShares, focus_spread_m, lens_drop_m, plate_shares
from farface.records import Known, Rig, Setting

# A computed spot leaves out the scan lens's aberrations, the beam's ellipticity and how well the person
# found the focus: common practice, no source.
_COMPUTED_SHARE = 0.2
_LIQUID = "water"


@dataclass(frozen=True, slots=True, kw_only=True)
class FarFaceSpot:
    """Hold what one pulse brings to the far face, inside the glass, before it meets the bath.

    ``shares`` says what is lost on the way and what of it the bath takes; ``front_j_per_m2`` is the peak
    fluence on the front face, which the plate must bear.
    """

    radius_m: Known
    energy_j: Known
    fluence_j_per_m2: Known
    front_j_per_m2: float
    shares: PlateShares


def far_face_spot(rig: Rig, setting: Setting) -> FarFaceSpot:
    """Give the spot of a setting, with standard deviations of radius, absorption and thickness carried on.

    F0 = 2 E / (pi w^2), E = E_pulse (1 - R) exp(-alpha t). ``setting.pulse_energy_j`` is what meets the
    plate, behind the scanner and the lens. Raises `OutOfRange` where a material has no value at the
    laser's wavelength.
    """
    radius_m = spot_radius_m(rig, focus_offset_m=setting.focus_offset_m)
    shares = rig_shares(rig)
    energy_j = Known(
        value=setting.pulse_energy_j * shares.arriving_share,
        sd=setting.pulse_energy_j * shares.arriving_share * _bulk_sd(rig),
        how="computed",
    )
    fluence_j_per_m2 = peak_fluence_j_per_m2(energy_j=energy_j.value, radius_m=radius_m.value)
    sd_share = math.hypot(2.0 * radius_m.sd / radius_m.value, energy_j.sd / energy_j.value)
    return FarFaceSpot(
        radius_m=radius_m,
        energy_j=energy_j,
        fluence_j_per_m2=Known(value=fluence_j_per_m2, sd=fluence_j_per_m2 * sd_share, how="computed"),
        front_j_per_m2=peak_fluence_j_per_m2(
            energy_j=setting.pulse_energy_j,
            radius_m=front_radius_m(rig, focus_offset_m=setting.focus_offset_m),
        ),
        shares=shares,
    )


def spot_radius_m(rig: Rig, *, focus_offset_m: float = 0.0) -> Known:
    """Give the 1/e2 radius at the far face, with the focus ``focus_offset_m`` below it.

    A measured radius is taken as that of the best focus; otherwise the waist comes from lens and beam,
    widened by what the plate's spherical aberration adds, with a standard deviation of 20 %. The plate's
    thickness, as far as it is not known, moves the face out of focus and adds to the standard deviation.
    Above the face the focus lies in glass, below it in the bath.
    """
    best_m = rig.spot_radius_m or _computed_waist_m(rig)
    radius_m = _radius_off_focus_m(rig, waist_m=best_m.value, offset_m=focus_offset_m)
    other_m = _radius_off_focus_m(rig, waist_m=best_m.value + best_m.sd, offset_m=focus_offset_m)
    # One Rayleigh range away a larger waist makes no larger spot, but its doubt has other causes too.
    of_waist_m = max(abs(other_m - radius_m), best_m.sd)
    further_m = focus_offset_m + math.copysign(rig.plate.thickness_m.sd, focus_offset_m)
    of_thickness_m = _radius_off_focus_m(rig, waist_m=best_m.value, offset_m=further_m) - radius_m
    return Known(
        value=radius_m,
        sd=math.hypot(of_waist_m, of_thickness_m),
        how=best_m.how if focus_offset_m == 0.0 else "computed",
    )


def front_radius_m(rig: Rig, *, focus_offset_m: float = 0.0) -> float:
    """Give the 1/e2 radius on the front face while the focus lies ``focus_offset_m`` below the far one."""
    waist_m = (rig.spot_radius_m or _computed_waist_m(rig)).value
    wavelength_m = rig.laser.wavelength_m
    above_m = rig.plate.thickness_m.value / glass(rig.plate.glass).index(wavelength_m)
    below_m = focus_offset_m / _offset_index(rig, focus_offset_m)
    rayleigh_m = rayleigh_range_m(waist_m=waist_m, wavelength_m=wavelength_m, m2=rig.laser.m2)
    return radius_at_m(distance_m=above_m + below_m, waist_m=waist_m, rayleigh_m=rayleigh_m)


def rig_shares(rig: Rig) -> PlateShares:
    """Follow the rig's light through its plate into the bath, taken as water."""
    return plate_shares(
        glass(rig.plate.glass),
        liquid(_LIQUID),
        thickness_m=rig.plate.thickness_m.value,
        wavelength_m=rig.laser.wavelength_m,
    )


def rig_lens_drop_m(rig: Rig, *, focus_offset_m: float = 0.0) -> Known:
    """Give how far to lower the lens, after focusing on the front face, to put the focus below it."""
    index = glass(rig.plate.glass).index(rig.laser.wavelength_m)
    thickness_m = rig.plate.thickness_m
    drop_m = lens_drop_m(thickness_m=thickness_m.value, index=index)
    drop_m += focus_offset_m / _offset_index(rig, focus_offset_m)
    return Known(value=drop_m, sd=lens_drop_m(thickness_m=thickness_m.sd, index=index), how="computed")


def _computed_waist_m(rig: Rig) -> Known:
    laser, lens, plate = rig.laser, rig.lens, rig.plate
    waist_m = waist_radius_m(
        wavelength_m=laser.wavelength_m, m2=laser.m2, focal_m=lens.focal_m, beam_radius_m=lens.beam_radius_m
    )
    slope = lens.beam_radius_m / lens.focal_m
    spread_m = focus_spread_m(
        thickness_m=plate.thickness_m.value,
        index=glass(plate.glass).index(laser.wavelength_m),
        sine=math.sin(math.atan(slope)),
    )
    # Where the aberrated rays pass closest to the axis, the outermost still miss it by a quarter of this.
    radius_m = math.hypot(waist_m, 0.25 * spread_m * slope)
    return Known(value=radius_m, sd=_COMPUTED_SHARE * radius_m, how="computed")


def _radius_off_focus_m(rig: Rig, *, waist_m: float, offset_m: float) -> float:
    rayleigh_m = rayleigh_range_m(
        waist_m=waist_m,
        wavelength_m=rig.laser.wavelength_m,
        m2=rig.laser.m2,
        index=_offset_index(rig, offset_m),
    )
    return radius_at_m(distance_m=offset_m, waist_m=waist_m, rayleigh_m=rayleigh_m)


def _offset_index(rig: Rig, offset_m: float) -> float:
    medium = liquid(_LIQUID) if offset_m > 0.0 else glass(rig.plate.glass)
    return medium.index(rig.laser.wavelength_m)


def _bulk_sd(rig: Rig) -> float:
    absorption = glass(rig.plate.glass).absorption
    per_m = absorption.absorption_per_m(rig.laser.wavelength_m)
    thickness_m = rig.plate.thickness_m
    return per_m * math.hypot(absorption.sd_share * thickness_m.value, thickness_m.sd)
