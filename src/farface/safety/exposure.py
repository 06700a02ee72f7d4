"""Estimate the exposure limits of eye and skin for a laser beam, single pulses and trains of them.

Every record carries what it was computed from, the table it rests on, and the words that it is no
clearance. Where two editions of the limits differ, the stricter is taken and named.
"""

import math
from dataclasses import dataclass
from typing import Final

from farface.kernel import OutOfRange, show_quantity
from farface.safety.limit_tables import (
    APERTURE_M,
    EDITIONS,
    TABLES,
    Edition,
    Organ,
    find_band,
    find_step,
    printed_limit_j_per_m2,
)

NOT_A_CLEARANCE: Final = "estimate, not a clearance"


@dataclass(frozen=True, slots=True, kw_only=True)
class ExposureLimit:
    """Hold the limit of one exposure as radiant exposure, averaged over ``aperture_m`` (a diameter)."""

    organ: Organ
    wavelength_m: float
    duration_s: float
    limit_j_per_m2: float
    aperture_m: float
    edition: Edition
    table: str
    words: str = NOT_A_CLEARANCE

    @property
    def limit_w_per_m2(self) -> float:
        """Give the same limit as irradiance, H / t."""
        return self.limit_j_per_m2 / self.duration_s


@dataclass(frozen=True, slots=True, kw_only=True)
class TrainLimit:
    """Hold the limit for each pulse of a regular train by each of the three rules; the least governs."""

    organ: Organ
    wavelength_m: float
    pulse_s: float
    rate_hz: float
    exposure_s: float
    pulses: float
    pulses_per_group: int
    single_pulse_j_per_m2: float
    whole_train_j_per_m2: float
    grouped_j_per_m2: float
    aperture_m: float
    edition: Edition
    table: str
    words: str = NOT_A_CLEARANCE

    @property
    def limit_j_per_m2(self) -> float:
        """Give the least of the three rules, for each pulse."""
        return min(self.single_pulse_j_per_m2, self.whole_train_j_per_m2, self.grouped_j_per_m2)

    @property
    def limit_w_per_m2(self) -> float:
        """Give the limit as the mean irradiance of the train."""
        return self.limit_j_per_m2 * self.rate_hz

    @property
    def governing(self) -> str:
        """Name the rule that gives the least value."""
        rules = {
            "rule 1: one pulse": self.single_pulse_j_per_m2,
            "rule 2: the whole train": self.whole_train_j_per_m2,
            "rule 3: pulses grouped, and N^-0.25": self.grouped_j_per_m2,
        }
        return min(rules, key=rules.__getitem__)


def single_pulse_limit(
    organ: Organ, *, wavelength_m: float, duration_s: float, edition: Edition | None = None
) -> ExposureLimit:
    """Look up the limit of one exposure [directive2006_25]; without an edition, the stricter one.

    Leaves out extended sources, and the photochemical limits of visible light beyond 10 s.
    Raises `OutOfRange` outside 400 to 1400 nm and outside the times of the table.
    """
    if edition is None:
        limits = [
            single_pulse_limit(organ, wavelength_m=wavelength_m, duration_s=duration_s, edition=each)
            for each in _editions_for(organ, wavelength_m, duration_s)
        ]
        return min(limits, key=lambda limit: limit.limit_j_per_m2)
    from_directive = edition == "directive_2006_25_ec"
    return ExposureLimit(
        organ=organ,
        wavelength_m=wavelength_m,
        duration_s=duration_s,
        limit_j_per_m2=printed_limit_j_per_m2(edition, organ, wavelength_m, duration_s),
        aperture_m=APERTURE_M[organ],
        edition=edition,
        table=f"{EDITIONS[edition]}, {TABLES[organ]}" if from_directive else EDITIONS[edition],
    )


def train_limit(
    organ: Organ,
    *,
    wavelength_m: float,
    pulse_s: float,
    rate_hz: float,
    exposure_s: float,
    edition: Edition | None = None,
) -> TrainLimit:
    """Find the limit for each pulse of a regular train [directive2006_25] by the three rules of Table 2.6.

    1. H(t_p), one pulse; 2. H(T)/N, the whole train; 3. H(t_p) N^-0.25 with all pulses inside T_min counted
    as one, so that N counts groups and the pulses of a group share the result. A group that is no whole
    number of pulses is rounded up, which errs on the strict side. T_min is the directive's in any edition.
    Raises `OutOfRange` when the exposure holds no pulse, or no table covers it.
    """
    pulses = exposure_s * rate_hz
    if pulses < 1.0:
        raise OutOfRange(
            f"{show_quantity(exposure_s, 's')} at {show_quantity(rate_hz, 'Hz')} holds no whole pulse, and "
            "the rules for trains need one. Give a longer exposure, or ask for the limit of a single pulse."
        )
    single = single_pulse_limit(organ, wavelength_m=wavelength_m, duration_s=pulse_s, edition=edition)
    whole = single_pulse_limit(organ, wavelength_m=wavelength_m, duration_s=exposure_s, edition=edition)
    band = find_band("directive_2006_25_ec", organ, wavelength_m)
    assert band is not None  # single_pulse_limit has refused any other wavelength
    grouping_s = max(band.grouping_s, pulse_s)
    per_group = max(1, math.ceil(rate_hz * grouping_s - 1e-9))
    groups = max(1.0, min(pulses, exposure_s / grouping_s))
    return TrainLimit(
        organ=organ,
        wavelength_m=wavelength_m,
        pulse_s=pulse_s,
        rate_hz=rate_hz,
        exposure_s=exposure_s,
        pulses=pulses,
        pulses_per_group=per_group,
        single_pulse_j_per_m2=single.limit_j_per_m2,
        whole_train_j_per_m2=whole.limit_j_per_m2 / pulses,
        grouped_j_per_m2=single.limit_j_per_m2 * groups**-0.25 / per_group,
        aperture_m=APERTURE_M[organ],
        edition=single.edition,
        table=f"{single.table}; repetition by Table 2.6 of {EDITIONS['directive_2006_25_ec']}",
    )


def _editions_for(organ: Organ, wavelength_m: float, duration_s: float) -> list[Edition]:
    """List the editions with a row here; the directive stands in any case, so that it does the refusing."""
    later: Edition = "later_edition_from_memory"
    band = find_band(later, organ, wavelength_m)
    has_row = band is not None and find_step(band, duration_s) is not None
    return ["directive_2006_25_ec", later] if has_row else ["directive_2006_25_ec"]
