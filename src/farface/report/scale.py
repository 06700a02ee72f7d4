"""Choose round steps for axes and scale bars, and map values to picture coordinates."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from farface.kernel import show_quantity
from farface.report.svg import Svg, group, line, text

_ROUND: Final = (1.0, 2.0, 5.0, 10.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """Map values between ``low`` and ``high`` to coordinates, evenly or by logarithm."""

    low: float
    high: float
    start_px: float
    end_px: float
    logarithmic: bool = False

    def at(self, value: float) -> float:
        """Give the coordinate of a value; on a logarithmic scale values below the low end stay there."""
        low, high, here = self.low, self.high, value
        if self.logarithmic:
            low, high, here = math.log(low), math.log(high), math.log(max(value, self.low))
        return self.start_px + (here - low) / (high - low) * (self.end_px - self.start_px)


def round_below(value: float) -> float:
    """Give the largest of 1, 2, 5 times a power of ten that does not exceed a positive value."""
    power = 10.0 ** math.floor(math.log10(value) + 1e-9)
    return max(step * power for step in _ROUND if step * power <= value * (1.0 + 1e-9))


def round_above(value: float) -> float:
    """Give the smallest of 1, 2, 5 times a power of ten that is not below a positive value."""
    power = 10.0 ** math.floor(math.log10(value) - 1e-9)
    return min(step * power for step in _ROUND if step * power >= value * (1.0 - 1e-9))


def even_ticks(low: float, high: float, most: int) -> list[float]:
    """Give at most ``most`` round values between low and high, evenly spaced."""
    step = round_above((high - low) / max(1, most - 1))
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [step * k for k in range(first, last + 1)]


def decade_ticks(low: float, high: float, most: int) -> list[float]:
    """Give at most ``most`` round values a decade apart or closer (1, 3; 1, 2, 5), low and high positive."""
    first, last = math.floor(math.log10(low)), math.ceil(math.log10(high))
    ticks: list[float] = []
    for steps in ((1.0, 2.0, 5.0), (1.0, 3.0), (1.0,)):
        ticks = [s * 10.0**k for k in range(first, last + 1) for s in steps]
        ticks = [t for t in ticks if low * (1.0 - 1e-9) <= t <= high * (1.0 + 1e-9)]
        if len(ticks) <= most:
            return ticks
    return ticks[:: math.ceil(len(ticks) / most)]


def tick_words(value: float) -> str:
    """Write a tick's value without superfluous digits."""
    return f"{value:.6g}" if 1e-4 <= abs(value) < 1e6 or value == 0.0 else f"{value:.3g}"


def scale_bar(px_per_m: float, *, right_px: float, y_px: float, longest_px: float) -> Svg:
    """Draw a bar of a round length with its length written beside it, ending at ``right_px``."""
    length_m = round_below(longest_px / px_per_m)
    left_px = right_px - length_m * px_per_m
    ends: Sequence[float] = (left_px, right_px)
    return group(
        line((left_px, y_px), (right_px, y_px), "edge bar"),
        *(line((x, y_px - 4), (x, y_px + 4), "edge") for x in ends),
        text(left_px - 8, y_px + 4.5, show_quantity(length_m, "m", digits=1), kind="note", anchor="end"),
        class_="ff-scale-bar",
    )
