"""Give liquid water's density, heat capacity and conductivity by temperature, from tables in the data."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from farface.kernel import OutOfRange

State = Literal["superheated", "saturated"]
_PLACE: Final = files("farface.materials") / "data" / "water" / "by_temperature.toml"
# The splines below are sampled this finely; straight lines between the samples then miss by under 1e-5.
SAMPLE_K: Final = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterByTemperature:
    """Hold liquid water at rising temperatures; every array has the shape of ``temperature_k``.

    ``heat_j_per_kg`` is the integral of the heat capacity from the first temperature.
    """

    temperature_k: NDArray[np.float64]
    density_kg_per_m3: NDArray[np.float64]
    heat_capacity_j_per_kg_k: NDArray[np.float64]
    conductivity_w_per_m_k: NDArray[np.float64]
    heat_j_per_kg: NDArray[np.float64]

    def at(self, quantity: str, temperature_k: ArrayLike) -> NDArray[np.float64]:
        """Give a field such as ``"density_kg_per_m3"`` at temperatures of the range, else `OutOfRange`."""
        wanted_k = np.asarray(temperature_k, dtype=np.float64)
        low, high = float(self.temperature_k[0]), float(self.temperature_k[-1])
        if wanted_k.size and not (low <= wanted_k.min() and wanted_k.max() <= high):
            raise OutOfRange(
                f"temperature reaches from {wanted_k.min():.2f} to {wanted_k.max():.2f} K, but the table of "
                f"liquid water covers {low:g} to {high:g} K. Choose temperatures in that range."
            )
        return np.asarray(np.interp(wanted_k, self.temperature_k, getattr(self, quantity)))


@cache
def water_by_temperature(state: State = "superheated") -> WaterByTemperature:
    """Read liquid water from 273.16 to 590 K [iapws95, iapws_r15_11].

    ``"superheated"`` is the liquid at 1 atm, beyond 373.124 K metastable: what a pulse heats before it boils.
    ``"saturated"`` is the liquid in equilibrium with its vapour, under up to 108 atm. They part by 0.1 % of
    the heat up to 470 K and by 1.2 % at 575 K. Pure water: the salt of a bath is left out.
    """
    return _from_columns(tomllib.loads(_PLACE.read_text(encoding="utf-8"))[state])


def _from_columns(columns: Mapping[str, Any]) -> WaterByTemperature:
    """Lay cubic splines through the printed columns and sample them."""
    from scipy.interpolate import CubicSpline  # 0.1 s to import, and needed by few

    printed_k = np.asarray(columns["temperature_k"], dtype=np.float64)
    temperature_k = np.arange(printed_k[0], printed_k[-1] + 0.5 * SAMPLE_K, SAMPLE_K).clip(max=printed_k[-1])
    capacity = CubicSpline(printed_k, columns["heat_capacity_j_per_kg_k"])
    return WaterByTemperature(
        temperature_k=temperature_k,
        density_kg_per_m3=CubicSpline(printed_k, columns["density_kg_per_m3"])(temperature_k),
        heat_capacity_j_per_kg_k=capacity(temperature_k),
        conductivity_w_per_m_k=CubicSpline(printed_k, columns["conductivity_w_per_m_k"])(temperature_k),
        heat_j_per_kg=capacity.antiderivative()(temperature_k),
    )
