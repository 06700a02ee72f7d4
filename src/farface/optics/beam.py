"""Follow a Gaussian beam through its focus: radius, fluence, and how pulses overlap.

Every radius here is that at which the fluence has fallen to 1/e2 of its peak.
"""

import math


def waist_radius_m(*, wavelength_m: float, m2: float, focal_m: float, beam_radius_m: float) -> float:
    """Give the waist behind a lens: w0 = M2 lambda f / (pi w_in) [siegman1986].

    Holds where the beam enters the lens near its own waist, well inside the lens's clear radius, and
    w_in is far above w0; leaves out the lens's own aberrations.
    """
    return m2 * wavelength_m * focal_m / (math.pi * beam_radius_m)


def rayleigh_range_m(*, waist_m: float, wavelength_m: float, m2: float, index: float = 1.0) -> float:
    """Give the distance over which the beam's area doubles: zR = n pi w0^2 / (M2 lambda) [siegman1986].

    ``wavelength_m`` is the vacuum wavelength and ``index`` that of the medium the distance lies in.
    """
    return index * math.pi * waist_m**2 / (m2 * wavelength_m)


def radius_at_m(*, distance_m: float, waist_m: float, rayleigh_m: float) -> float:
    """Give the radius at a distance from the waist: w = w0 sqrt(1 + (z/zR)^2)."""
    return waist_m * math.hypot(1.0, distance_m / rayleigh_m)


def depth_of_field_m(*, rayleigh_m: float, growth: float) -> float:
    """Give how far from the waist the radius has grown to ``growth`` times its least: zR sqrt(g^2 - 1).

    Hold it against the tilt and the bow of a slide over the field.
    """
    return rayleigh_m * math.sqrt(growth**2 - 1.0)


def peak_fluence_j_per_m2(*, energy_j: float, radius_m: float) -> float:
    """Give the fluence on the axis of a Gaussian pulse: F0 = 2 E / (pi w^2)."""
    return 2.0 * energy_j / (math.pi * radius_m**2)


def pulses_per_spot(*, radius_m: float, rate_hz: float, speed_m_per_s: float) -> float:
    """Count the pulses fired while the beam moves by its own 1/e2 diameter: N = 2 w f / v."""
    return 2.0 * radius_m * rate_hz / speed_m_per_s


def effective_pulses(*, radius_m: float, rate_hz: float, speed_m_per_s: float) -> float:
    """Count the pulses on the axis that a moving beam's fluence adds up to: N = sqrt(pi/2) w f / v.

    This is the sum of exp(-2 (k v/f)^2 / w^2) over all k; it holds where pulses lie closer than w.
    """
    return math.sqrt(math.pi / 2.0) * radius_m * rate_hz / speed_m_per_s
