"""Follow the radius of one spherical cavity through collapse and rebound, with gas, sound and viscosity."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import NDArray

from farface.kernel import ATMOSPHERE_PA, OutOfRange
from farface.materials.bubble_life import COLLAPSE_FACTOR

# Relative error a step may make; tenfold changes move the second minimum by less than 1e-6.
STEP_ERROR_SHARE: Final = 1e-10
# Below this share of the first radius a cavity without gas counts as gone: what is left of its collapse takes
# a share of 2e-8 of the time.
GONE_SHARE: Final = 1e-3
_LEAST: Final = 1e-9

_Slope = Callable[[float, NDArray[np.float64]], list[float]]
Status = Literal["followed", "gone", "stopped early"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """Hold one turning point of the radius: when, and how large."""

    time_s: float
    radius_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """Hold how the radius went, at the solver's own steps, with its minima and maxima in order of time.

    ``status`` is "followed" to the end of the time asked for; "gone" when a cavity without gas has shrunk to
    `GONE_SHARE`; "stopped early" when the solver gave up, with what it had until then: a start far beyond the
    equation's range.
    """

    times_s: NDArray[np.float64]
    radii_m: NDArray[np.float64]
    speeds_m_per_s: NDArray[np.float64]
    minima: tuple[Turn, ...]
    maxima: tuple[Turn, ...]
    status: Status

    @property
    def first_minimum(self) -> Turn | None:
        """Give the end of the first collapse, None if it was not reached."""
        return self.minima[0] if self.minima else None

    @property
    def rebound(self) -> Turn | None:
        """Give the largest radius after the first collapse, None if it was not reached."""
        return self.maxima[0] if self.maxima else None

    @property
    def second_minimum(self) -> Turn | None:
        """Give the end of the second collapse, None if it was not reached."""
        return self.minima[1] if len(self.minima) > 1 else None


@dataclass(frozen=True, slots=True, kw_only=True)
class KellerMiksis:
    """Hold a cavity and the liquid around it; water at 20 C is ``KellerMiksis(gas_radius_m=...)``.

    ``gas_radius_m`` is the radius at which the gas inside would be at rest with the liquid; 0 means no gas.
    ``heat_ratio``, above 1, is the gas's polytropic exponent: its ratio of heat capacities while it keeps its
    heat.

        (1 - U/c) R U' + (3/2)(1 - U/(3c)) U^2 = (1 + U/c) P/rho + R P'/(rho c),   U = R'
        P = (p0 + 2 s/R_g - p_v)(R_g/R)^(3 kappa) + p_v - 2 s/R - 4 mu U/R - p0

    [keller1980]. Leaves out walls, other cavities, heat and vapour that pass the surface, and loss of shape.
    First order in U/c: near the end of a hard collapse, where U passes c/2, the radius is a guide only.
    """

    gas_radius_m: float
    heat_ratio: float = 1.4
    density_kg_per_m3: float = 998.2
    pressure_pa: float = ATMOSPHERE_PA
    surface_tension_n_per_m: float = 0.0728
    viscosity_pa_s: float = 1.002e-3
    sound_speed_m_per_s: float = 1482.0
    vapour_pressure_pa: float = 0.0

    def course(
        self, *, start_m: float, speed_m_per_s: float = 0.0, duration_s: float | None = None
    ) -> Course:
        """Follow the radius from ``start_m``; without a duration for 2.2 collapse times of that radius.

        The collapse time is Rayleigh's, so a start at the largest radius shows two collapses as a rule.
        Raises `OutOfRange` for a start that is not above zero, or outward and not below the speed of sound.
        About 30 ms.
        """
        if not (start_m > 0.0 and speed_m_per_s < self.sound_speed_m_per_s):
            raise OutOfRange(
                f"the start is {start_m:g} m at {speed_m_per_s:g} m/s, but keller1980 holds for a radius "
                f"above 0 that grows slower than sound, {self.sound_speed_m_per_s:g} m/s. Start from the "
                "largest radius, at rest."
            )
        scale_s = start_m * math.sqrt(self.density_kg_per_m3 / (self.pressure_pa - self.vapour_pressure_pa))
        until = 2.2 * COLLAPSE_FACTOR if duration_s is None else duration_s / scale_s
        solution = _solve(
            self._slope(start_m=start_m, scale_s=scale_s),
            speed=speed_m_per_s * scale_s / start_m,
            until=until,
            least=GONE_SHARE if self.gas_radius_m == 0.0 else 0.0,
        )
        return _course(solution, start_m=start_m, scale_s=scale_s)

    def energy_j(self, *, radius_m: float, speed_m_per_s: float = 0.0) -> float:
        """Give the energy above that of no cavity: motion of the liquid, pressure, surface and gas.

        2 pi rho R^3 U^2 + (4/3) pi R^3 (p0 - p_v) + 4 pi s R^2 + p_g V / (kappa - 1). From one turning point
        to the next, viscosity and sound only take from it.
        """
        volume_m3 = 4.0 / 3.0 * math.pi * radius_m**3
        energy = 2.0 * math.pi * self.density_kg_per_m3 * radius_m**3 * speed_m_per_s**2
        energy += volume_m3 * (self.pressure_pa - self.vapour_pressure_pa)
        energy += 4.0 * math.pi * self.surface_tension_n_per_m * radius_m**2
        return energy + self.gas_pressure_pa(radius_m) * volume_m3 / (self.heat_ratio - 1.0)

    def gas_pressure_pa(self, radius_m: float) -> float:
        """Give the pressure of the gas inside at a radius."""
        if self.gas_radius_m == 0.0:
            return 0.0
        at_rest = self.pressure_pa - self.vapour_pressure_pa
        at_rest += 2.0 * self.surface_tension_n_per_m / self.gas_radius_m
        return float(at_rest * (self.gas_radius_m / radius_m) ** (3.0 * self.heat_ratio))

    def natural_hz(self) -> float:
        """Give the frequency of small swings about rest, without damping [minnaert1933].

        f = sqrt((3 kappa (p0 - p_v + 2 s/R) - 2 s/R) / rho) / (2 pi R).
        """
        laplace = 2.0 * self.surface_tension_n_per_m / self.gas_radius_m
        stiffness = 3.0 * self.heat_ratio * (self.pressure_pa - self.vapour_pressure_pa + laplace) - laplace
        return math.sqrt(stiffness / self.density_kg_per_m3) / (2.0 * math.pi * self.gas_radius_m)

    def _slope(self, *, start_m: float, scale_s: float) -> _Slope:
        """Return d(x, v)/d(time) with the radius in units of its start and the time in ``scale_s``."""
        pull = self.pressure_pa - self.vapour_pressure_pa
        mach = start_m / scale_s / self.sound_speed_m_per_s
        gas, power = self.gas_pressure_pa(start_m) / pull, 3.0 * self.heat_ratio
        surface = 2.0 * self.surface_tension_n_per_m / (start_m * pull)
        drag = 4.0 * self.viscosity_pa_s / (scale_s * pull)

        def slope(_time: float, state: NDArray[np.float64]) -> list[float]:
            x, v = max(float(state[0]), _LEAST), float(state[1])  # a trial step may overshoot zero
            inside = gas * x**-power
            net = inside - 1.0 - (surface + drag * v) / x
            net_rate = (-power * inside + (surface + drag * v) / x) * v / x
            push = (1.0 + mach * v) * net + mach * x * net_rate - 1.5 * (1.0 - mach * v / 3.0) * v * v
            return [v, push / ((1.0 - mach * v) * x + mach * drag)]

        return slope


def _solve(slope: _Slope, *, speed: float, until: float, least: float) -> Any:
    """Integrate with a method that turns to a stiff one by itself; mark minima, maxima and the end."""
    from scipy.integrate import solve_ivp  # late: 0.1 s to import

    def minimum(_time: float, state: NDArray[np.float64]) -> float:
        return float(state[1])

    def maximum(_time: float, state: NDArray[np.float64]) -> float:
        return float(state[1])

    def gone(_time: float, state: NDArray[np.float64]) -> float:
        return float(state[0]) - least

    minimum.direction, maximum.direction = 1.0, -1.0  # type: ignore[attr-defined]
    gone.terminal = True  # type: ignore[attr-defined]
    return solve_ivp(
        slope, (0.0, until), [1.0, speed], method="LSODA", rtol=STEP_ERROR_SHARE,
        atol=[1e-3 * STEP_ERROR_SHARE, STEP_ERROR_SHARE], first_step=1e-6, events=(minimum, maximum, gone),
    )  # fmt: skip


def _course(solution: Any, *, start_m: float, scale_s: float) -> Course:
    """Turn the solver's result into SI; a start at rest is no turning point."""
    status: Status = "stopped early"
    if solution.t_events[2].size:
        status = "gone"
    elif solution.status == 0:
        status = "followed"
    minima, maxima = (
        tuple(
            Turn(time_s=float(time * scale_s), radius_m=float(state[0] * start_m))
            for time, state in zip(solution.t_events[which], solution.y_events[which], strict=True)
            if time > 0.0
        )
        for which in (0, 1)
    )
    return Course(
        times_s=solution.t * scale_s,
        radii_m=solution.y[0] * start_m,
        speeds_m_per_s=solution.y[1] * start_m / scale_s,
        minima=minima,
        maxima=maxima,
        status=status,
    )
