"""March heat about a spot on the far face, slowly and surely: what the fast responses are held to.

Liquid below, glass above it, air above the glass if wanted, on rings and slabs. The liquid may change with
temperature. Convection, boiling, absorption in the glass and the length of a pulse are left out.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from farface.heat.reference_solve import SlabOperator
from farface.heat.reference_stack import Stack

# The share of a step that is taken implicitly.
GAMMA: Final = 0.5 + math.sqrt(3.0) / 6.0

Status = Literal["followed", "superheated"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pulse:
    """Hold when a pulse comes and how much of it enters the liquid."""

    time_s: float
    energy_j: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Warmed:
    """Hold rises above the start, shape (times, rings, slabs), those on the face, (times, rings), and heat.

    ``stored_j`` is the heat in the grid and ``absorbed_j`` what pulses have left there, shape (times,).
    ``status`` is "followed", or "superheated" when a pulse took the liquid past the end of its table; the
    arrays then end before it.
    """

    times_s: NDArray[np.float64]
    rise_k: NDArray[np.float64]
    face_rise_k: NDArray[np.float64]
    stored_j: NDArray[np.float64]
    absorbed_j: NDArray[np.float64]
    steps: int
    status: Status


class _Kept(NamedTuple):
    """Hold what is kept at one time."""

    time_s: float
    rise_k: NDArray[np.float64]
    stored_j: float
    absorbed_j: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Reference:
    """Hold a spot of Gaussian radius ``radius_m`` on a liquid that absorbs by Beer and Lambert's law.

    After each pulse steps start at ``first_step_s`` and grow with the time since, as ``step_share`` of it;
    0.1 keeps what steps add below what 128 cells of a `spot_grid` add. 5 to 10 ms a step there.
    """

    stack: Stack
    radius_m: float
    absorption_per_m: float
    first_step_s: float
    step_share: float = 0.1

    def march(self, *, pulses: tuple[Pulse, ...], times_s: NDArray[np.float64]) -> Warmed:
        """Follow the temperatures from rest, through one pulse or more, and keep them at ``times_s``.

        Both rise; a time that falls on a pulse is read right after it.
        """
        stack, volume_m3 = self.stack, self.stack.grid.volume_m3
        cold, source = stack.cold(), self._left_by_a_joule_per_m3()
        heat = np.zeros_like(volume_m3)
        kept: list[_Kept] = []
        status: Status = "followed"
        steps, absorbed_j = 0, 0.0
        now_s = last_pulse_s = min(pulses[0].time_s, float(times_s[0]))
        for at_s, pulse in _events(pulses, times_s):
            for step_s in self._steps(since_s=now_s - last_pulse_s, span_s=at_s - now_s):
                heat = _after(step_s, heat, stack=stack, cold=cold)
                steps += 1
            now_s = at_s
            if pulse is None:
                stored_j = float((heat * volume_m3).sum())
                kept.append(_Kept(at_s, stack.rise_k(heat), stored_j, absorbed_j))
                continue
            last_pulse_s = at_s
            heat = heat + pulse.energy_j * source
            absorbed_j += pulse.energy_j * float((source * volume_m3).sum())
            if stack.beyond_table(stack.rise_k(heat)):
                status = "superheated"
                break
        return self._warmed(kept, steps=steps, status=status)

    def _steps(self, *, since_s: float, span_s: float) -> Iterator[float]:
        """Yield growing steps that together fill a span which begins ``since_s`` after the last pulse."""
        left_s = span_s
        while left_s > 0.0:
            step_s = max(self.first_step_s, self.step_share * (since_s + span_s - left_s))
            if step_s > 0.7 * left_s:
                step_s = left_s
            yield step_s
            left_s -= step_s

    def _left_by_a_joule_per_m3(self) -> NDArray[np.float64]:
        """Return the heat per volume that a pulse of 1 J leaves, averaged exactly over every cell."""
        grid = self.stack.grid
        within = -np.diff(np.exp(-2.0 * grid.r_edges_m**2 / self.radius_m**2))
        absorbed = -np.diff(np.exp(-self.absorption_per_m * grid.z_edges_m.clip(min=0.0)))
        return np.asarray(np.outer(within, absorbed) / grid.volume_m3)

    def _warmed(self, kept: list[_Kept], *, steps: int, status: Status) -> Warmed:
        rings, slabs = self.stack.grid.volume_m3.shape
        rises = np.array([each.rise_k for each in kept]).reshape(-1, rings, slabs)
        return Warmed(
            times_s=np.array([each.time_s for each in kept]),
            rise_k=rises,
            face_rise_k=np.array([self.stack.face_rise_k(rise) for rise in rises]).reshape(-1, rings),
            stored_j=np.array([each.stored_j for each in kept]),
            absorbed_j=np.array([each.absorbed_j for each in kept]),
            steps=steps,
            status=status,
        )


def _after(
    step_s: float, heat: NDArray[np.float64], *, stack: Stack, cold: SlabOperator
) -> NDArray[np.float64]:
    """Return the heat per volume a step later, by the two-stage rule ROS2 [verwer1999].

        (1 - g h A) x1 = f(H),   (1 - g h A) x2 = f(H + h x1) - 2 x1,   H + 1.5 h x1 + 0.5 h x2

    The rule is of second order for any A, so A may be the ``cold`` materials' conduction while f, the flux,
    takes the properties as they are. With constant ones g = (3 + sqrt 3)/6 makes it of third order. It damps
    the fastest changes by 0.73 a step, and stays stable while a diffusivity is under 1.37 times its cold one;
    that of water reaches 1.14.
    """
    first = cold.implicit_w_per_m3(GAMMA * step_s, stack.inflow_w_per_m3(heat))
    ahead = stack.inflow_w_per_m3(heat + step_s * first) - 2.0 * first
    second = cold.implicit_w_per_m3(GAMMA * step_s, ahead)
    return heat + step_s * (1.5 * first + 0.5 * second)


def _events(pulses: tuple[Pulse, ...], times_s: NDArray[np.float64]) -> list[tuple[float, Pulse | None]]:
    """Return pulses and times to read in their order, a pulse before a time that falls on it."""
    events: list[tuple[float, Pulse | None]] = [(pulse.time_s, pulse) for pulse in pulses]
    for time_s in times_s:
        # 3 x 25 us and 75 us differ in their last digit.
        on_pulse = (pulse.time_s for pulse in pulses if math.isclose(pulse.time_s, time_s, rel_tol=1e-12))
        events.append((next(on_pulse, float(time_s)), None))
    return sorted(events, key=lambda event: (event[0], event[1] is None))
