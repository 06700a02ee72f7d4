"""Hold the printed tables of laser exposure limits, 400 to 1400 nm, and look rows up in them.

Tables 2.2 (eye, to 10 s), 2.4 (skin), 2.5 (corrections) and 2.6 (grouping time) of Directive 2006/25/EC,
Annex II [directive2006_25], for a small source (C_E = 1); and one row of a later edition, quoted from
memory [later_limits]: 0.02 J/m2 from 10 ps to 13 us, 1050 to 1150 nm, eye only.
"""

from dataclasses import dataclass
from typing import Final, Literal

from farface.kernel import OutOfRange, in_unit

Organ = Literal["eye", "skin"]
Edition = Literal["directive_2006_25_ec", "later_edition_from_memory"]

EDITIONS: Final[dict[Edition, str]] = {
    "directive_2006_25_ec": "Directive 2006/25/EC, Annex II",
    "later_edition_from_memory": "a later edition of the limits (quoted from memory, not read)",
}
TABLES: Final[dict[Organ, str]] = {"eye": "Table 2.2", "skin": "Table 2.4"}
APERTURE_M: Final[dict[Organ, float]] = {"eye": 7e-3, "skin": 3.5e-3}


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """Hold one row: H = ``factor`` t^``power`` (J/m2, s) from the row above to ``until_s``."""

    until_s: float
    factor: float
    power: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """Hold the rows of one band of wavelengths, both ends in it, and the time within which pulses are one."""

    from_m: float
    until_m: float
    from_s: float
    steps: tuple[Step, ...]
    grouping_s: float


def _rows(*rows: tuple[float, float, float]) -> tuple[Step, ...]:
    return tuple(Step(until_s=until_s, factor=factor, power=power) for until_s, factor, power in rows)


_VISIBLE = _rows((1e-11, 1.5e-4, 0.0), (1e-9, 2.7e4, 0.75), (1.8e-5, 5e-3, 0.0), (10.0, 18.0, 0.75))
_INFRARED = _rows((1e-11, 1.5e-3, 0.0), (1e-9, 2.7e5, 0.75), (5e-5, 5e-2, 0.0), (10.0, 90.0, 0.75))
# Rows printed as irradiance E are held as H = E t, hence the power 1.
_SKIN = _rows((1e-9, 2e11, 1.0), (1e-7, 200.0, 0.0), (10.0, 1.1e4, 0.25), (3e4, 2e3, 1.0))
_LATER = _rows((1.3e-5, 2e-2, 0.0), (10.0, 90.0, 0.75))


def _band(from_nm: float, until_nm: float, from_s: float, steps: tuple[Step, ...], grouping_s: float) -> Band:
    return Band(
        from_m=from_nm * 1e-9, until_m=until_nm * 1e-9, from_s=from_s, steps=steps, grouping_s=grouping_s
    )


# Bands that touch share their end; the first that holds a wavelength counts, as printed (700 < l <= 1050).
BANDS: Final[dict[tuple[Edition, Organ], tuple[Band, ...]]] = {
    ("directive_2006_25_ec", "eye"): (
        _band(400, 1050, 1e-13, _VISIBLE, 18e-6),
        _band(1050, 1400, 1e-13, _INFRARED, 50e-6),
    ),
    ("directive_2006_25_ec", "skin"): (
        _band(400, 1050, 1e-13, _SKIN, 18e-6),
        _band(1050, 1400, 1e-13, _SKIN, 50e-6),
    ),
    ("later_edition_from_memory", "eye"): (_band(1050, 1150, 1e-11, _LATER, 50e-6),),
    ("later_edition_from_memory", "skin"): (),
}


def find_band(edition: Edition, organ: Organ, wavelength_m: float) -> Band | None:
    """Find the band that holds a wavelength, or None."""
    slack_m = 1e-15
    return next(
        (
            band
            for band in BANDS[edition, organ]
            if band.from_m - slack_m <= wavelength_m <= band.until_m + slack_m
        ),
        None,
    )


def find_step(band: Band, duration_s: float) -> Step | None:
    """Find the row that holds a duration, or None; the end of the last row belongs to it."""
    if not band.from_s <= duration_s <= band.steps[-1].until_s:
        return None
    return next((step for step in band.steps if duration_s < step.until_s), band.steps[-1])


def printed_limit_j_per_m2(edition: Edition, organ: Organ, wavelength_m: float, duration_s: float) -> float:
    """Read a limit as radiant exposure off the tables, H = factor t^power C, with C = C_A or C_C.

    Raises `OutOfRange` where the edition has no row.
    """
    band = find_band(edition, organ, wavelength_m)
    step = find_step(band, duration_s) if band else None
    if step is None:
        raise OutOfRange(
            f"an exposure of the {organ} for {duration_s:g} s at {in_unit(wavelength_m, 'nm', 'm'):g} nm has "
            f"no row in {EDITIONS[edition]}, as held here: {_held(edition, organ)}. Choose values in "
            "that range, or ask the responsible laser safety officer."
        )
    return step.factor * float(duration_s**step.power) * correction(organ, wavelength_m)


def correction(organ: Organ, wavelength_m: float) -> float:
    """Give the correction of Table 2.5: C_C for the eye above 1050 nm, else C_A (1 for visible light)."""
    wavelength_nm = wavelength_m * 1e9
    if organ == "eye" and wavelength_nm > 1050.0:
        if wavelength_nm <= 1150.0:
            return 1.0
        return float(10.0 ** (0.018 * (wavelength_nm - 1150.0))) if wavelength_nm <= 1200.0 else 8.0
    if wavelength_nm <= 700.0:
        return 1.0
    return float(10.0 ** (0.002 * (wavelength_nm - 700.0))) if wavelength_nm <= 1050.0 else 5.0


def _held(edition: Edition, organ: Organ) -> str:
    bands = BANDS[edition, organ]
    if not bands:
        return "none"
    first, last = bands[0], bands[-1]
    return (
        f"{in_unit(first.from_m, 'nm', 'm'):g} to {in_unit(last.until_m, 'nm', 'm'):g} nm, "
        f"{first.from_s:g} to {last.steps[-1].until_s:g} s"
    )
