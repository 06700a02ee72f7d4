"""Give density and viscosity of what is dissolved in water, inside the range of its source."""

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Final

from farface.kernel import Missing, OutOfRange

ZERO_CELSIUS_K: Final = 273.15
SOLUTES: Final = ("copper_sulfate", "phosphoric_acid")
_DATA: Final = files("farface.materials") / "data" / "solutions"
# Shares and temperatures are typed in decimal: a limit met to the last digit is met.
_ROUNDING: Final = 1e-9
# Water alone: what the source's own curve is good for is not printed, so the liquid range at 1 atm.
_WATER_CELSIUS: Final = (0.0, 100.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """Hold the coefficients of one property of one solute, where they hold, and whose they are.

    Temperatures of the range are in degrees Celsius, as the source has them; ``mass_share_max`` bounds the
    share of the whole solution that is not water.
    """

    coefficients: tuple[float, ...]
    range_celsius: tuple[float, float]
    mass_share_max: float
    source: str


def density_kg_per_m3(mass_shares: Mapping[str, float], *, temperature_k: float) -> float:
    """Give the density of a solution: 1/rho = w_w/rho_w + sum of w_i/rho_i [laliberte2009].

    rho_i = (c0 (1-w_w) + c1) exp(1e-6 (t + c4)^2) / (1-w_w + c2 + c3 t), t in C. ``mass_shares`` are by name
    of the solute (`SOLUTES`), the salt as anhydrous. Raises `OutOfRange` outside what the source measured.
    """
    t, dissolved = _checked(mass_shares, temperature_k, "density")
    volume_m3_per_kg = (1.0 - dissolved) / _water_density_kg_per_m3(t)
    for name, share in mass_shares.items():
        c0, c1, c2, c3, c4 = fit(name, "density").coefficients
        # Kept as a volume: the apparent density of a dilute salt passes through infinity.
        above, below = dissolved + c2 + c3 * t, (c0 * dissolved + c1) * math.exp(1e-6 * (t + c4) ** 2)
        volume_m3_per_kg += share * above / below
    return 1.0 / volume_m3_per_kg


def viscosity_pa_s(mass_shares: Mapping[str, float], *, temperature_k: float) -> float:
    """Give the viscosity of a solution: ln mu = w_w ln mu_w + sum of w_i ln mu_i [laliberte2009].

    mu_i = exp((v1 (1-w_w)^v2 + v3) / (v4 t + 1)) / (v5 (1-w_w)^v6 + 1) in mPa s, t in C. For phosphoric acid
    the source has 20 to 25 C only. Raises `OutOfRange` outside what the source measured.
    """
    t, dissolved = _checked(mass_shares, temperature_k, "viscosity")
    logarithm = (1.0 - dissolved) * math.log((t + 246.0) / ((0.05594 * t + 5.2842) * t + 137.37))
    for name, share in mass_shares.items():
        v1, v2, v3, v4, v5, v6 = fit(name, "viscosity").coefficients
        of_solute = (v1 * dissolved**v2 + v3) / (v4 * t + 1.0) - math.log1p(v5 * dissolved**v6)
        logarithm += share * of_solute
    return 1e-3 * math.exp(logarithm)


def fit(name: str, quantity: str) -> Fit:
    """Read the coefficients for ``"density"`` or ``"viscosity"`` of one solute."""
    table = solution_table(name)[quantity]
    return Fit(
        coefficients=tuple(table["coefficients"]),
        range_celsius=(table["range_celsius"][0], table["range_celsius"][1]),
        mass_share_max=table["mass_share_max"],
        source=table["source"],
    )


@cache
def solution_table(name: str) -> Mapping[str, Any]:
    """Read the data file of one solute in water; `Missing` names those that exist."""
    if name not in SOLUTES:
        raise Missing(f'"{name}" has no data as a solution; {" and ".join(SOLUTES)} have. Choose of these.')
    return tomllib.loads((_DATA / f"{name}.toml").read_text(encoding="utf-8"))


def _checked(shares: Mapping[str, float], temperature_k: float, quantity: str) -> tuple[float, float]:
    """Give the temperature in degrees Celsius and the share that is not water, once both are in range."""
    t, dissolved = temperature_k - ZERO_CELSIUS_K, sum(shares.values())
    if any(not 0.0 <= share <= 1.0 for share in shares.values()) or dissolved >= 1.0:
        raise OutOfRange(
            f"{100 * dissolved:.3g} % of the solution is dissolved, but every share lies between 0 and "
            "100 % and water must be left. Check the amounts."
        )
    limits = [(name, fit(name, quantity)) for name, share in shares.items() if share > 0.0]
    for name, limit in limits:
        low, high = limit.range_celsius
        _require_within(t, low, high, f"{quantity} of {name.replace('_', ' ')} in water", limit.source)
        if dissolved > limit.mass_share_max * (1.0 + _ROUNDING):
            raise OutOfRange(
                f"{100 * dissolved:.3g} % by mass is dissolved, but {limit.source} covers the {quantity} of "
                f"{name.replace('_', ' ')} in water up to {100 * limit.mass_share_max:.3g} %. Take less."
            )
    if not limits:
        _require_within(t, *_WATER_CELSIUS, f"{quantity} of water", "the liquid range at 1 atm")
    return t, dissolved


def _require_within(t: float, low: float, high: float, what: str, authority: str) -> None:
    if not low - _ROUNDING <= t <= high + _ROUNDING:
        raise OutOfRange(
            f"temperature is {t:.4g} C, but for the {what} {authority} covers {low:g} to {high:g} C. "
            "Choose a temperature in that range, or measure the bath itself."
        )


def _water_density_kg_per_m3(t: float) -> float:
    """Give the density of water at t in C, as the source writes it."""
    above = (
        ((((-2.8054253e-10 * t + 1.0556302e-7) * t - 4.6170461e-5) * t - 0.0079870401) * t) + 16.945176
    ) * t
    return (above + 999.83952) / (1.0 + 0.01687985 * t)
