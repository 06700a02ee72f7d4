"""Say what heat and conductivity a material has at each rise of temperature: constant, or water's table."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.materials.water_liquid import State, water_by_temperature

# Air at 20 C and 1 atm, as handbooks give it [air_handbook].
AIR_W_PER_M_K: Final = 0.026
AIR_J_PER_M3_K: Final = 1.2e3


@dataclass(frozen=True, slots=True, kw_only=True)
class Medium:
    """Hold heat content and conductivity at rising temperatures, straight lines between, all of one shape.

    Rises are above the temperature at which everything starts, where the heat content is 0. Beyond the last
    rise the last lines go on; a run stops there if ``ends`` says that the material does.
    """

    rise_k: NDArray[np.float64]
    heat_j_per_m3: NDArray[np.float64]
    conductivity_w_per_m_k: NDArray[np.float64]
    ends: bool

    def rise_from_heat_k(self, heat_j_per_m3: NDArray[np.float64]) -> NDArray[np.float64]:
        """Give the rise that a heat content makes."""
        return _on_lines(heat_j_per_m3, self.heat_j_per_m3, self.rise_k)

    def capacity_j_per_m3_k(self, rise_k: NDArray[np.float64]) -> NDArray[np.float64]:
        """Give the slope of heat content over rise."""
        return (np.diff(self.heat_j_per_m3) / np.diff(self.rise_k))[_line(rise_k, self.rise_k)]

    def conductivity_at_w_per_m_k(self, rise_k: NDArray[np.float64]) -> NDArray[np.float64]:
        """Give the conductivity at a rise."""
        return _on_lines(rise_k, self.rise_k, self.conductivity_w_per_m_k)


def constant_medium(*, capacity_j_per_m3_k: float, conductivity_w_per_m_k: float) -> Medium:
    """Make a material whose properties do not change."""
    return Medium(
        rise_k=np.array([0.0, 1.0]),
        heat_j_per_m3=np.array([0.0, capacity_j_per_m3_k]),
        conductivity_w_per_m_k=np.full(2, conductivity_w_per_m_k),
        ends=False,
    )


def air() -> Medium:
    """Make still air; convection, which carries more after some tenths of a second, is left out."""
    return constant_medium(capacity_j_per_m3_k=AIR_J_PER_M3_K, conductivity_w_per_m_k=AIR_W_PER_M_K)


def water_medium(*, start_k: float = 293.15, state: State = "superheated") -> Medium:
    """Make water that is followed in its own mass, from ``start_k`` up to 590 K [iapws95, iapws_r15_11].

    A cell keeps the mass it has at the start, so its heat is rho(start) times the integral of c dT, and light
    that is absorbed by dissolved ions finds as many of them as before. The cell swells alike in all
    directions by lambda = (rho(start)/rho(T))^(1/3): its faces grow by lambda^2 and its conduction paths by
    lambda, so k(T) counts lambda-fold. That a hot column pushes its colder neighbours is left out.
    """
    water = water_by_temperature(state)
    temperature_k = np.concatenate([[start_k], water.temperature_k[water.temperature_k > start_k]])
    heat = water.at("heat_j_per_kg", temperature_k)
    density = water.at("density_kg_per_m3", temperature_k)
    return Medium(
        rise_k=temperature_k - start_k,
        heat_j_per_m3=density[0] * (heat - heat[0]),
        conductivity_w_per_m_k=water.at("conductivity_w_per_m_k", temperature_k)
        * (density[0] / density) ** (1.0 / 3.0),
        ends=True,
    )


def _line(x: NDArray[np.float64], knots: NDArray[np.float64]) -> NDArray[np.int64]:
    """Return which of the lines between knots each x lies on; those beyond the ends take the end lines."""
    return np.searchsorted(knots[1:-1], x, side="right")


def _on_lines(
    x: NDArray[np.float64], knots: NDArray[np.float64], values: NDArray[np.float64]
) -> NDArray[np.float64]:
    line = _line(x, knots)
    slopes = np.diff(values) / np.diff(knots)
    return np.asarray(values[line] + slopes[line] * (x - knots[line]))
