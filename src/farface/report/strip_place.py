"""Place marks and traces in the strip's lanes, which share one time axis."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.report.scale import Scale
from farface.report.svg import Point, Svg, line, way

_COLUMNS: Final = 500  # of a trace; each keeps its lowest and highest value


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Hold where a lane stands and the time axis it shares with the others."""

    time: Scale
    top_px: float
    height_px: float

    @property
    def bottom_px(self) -> float:
        """Give the lane's base line."""
        return self.top_px + self.height_px


def base(place: Place) -> Svg:
    """Draw a lane's base line."""
    return line((place.time.start_px, place.bottom_px), (place.time.end_px, place.bottom_px), "grid")


def diamond(x_px: float, y_px: float, size_px: float) -> str:
    """Write a diamond about a point."""
    around = ((x_px, y_px - size_px), (x_px + size_px, y_px), (x_px, y_px + size_px), (x_px - size_px, y_px))
    return way(around, closed=True)


def star(x_px: float, y_px: float) -> str:
    """Write a four-pointed star."""
    angles = np.arange(8) * np.pi / 4
    reach = np.where(np.arange(8) % 2 == 0, 8.0, 2.6)
    return way(
        [(x_px + r * np.sin(a), y_px - r * np.cos(a)) for r, a in zip(reach, angles, strict=True)],
        closed=True,
    )


def envelope(times_s: NDArray[np.float64], values: NDArray[np.float64]) -> list[Point]:
    """Thin a trace to at most two points a column, its lowest and its highest, so that no peak is lost."""
    order = np.argsort(times_s, kind="stable")
    times, kept = times_s[order], values[order]
    if times.size <= 2 * _COLUMNS:
        return list(zip(times.tolist(), kept.tolist(), strict=True))
    points: list[Point] = []
    for part in np.array_split(np.arange(times.size), _COLUMNS):
        ends = sorted({int(part[np.argmin(kept[part])]), int(part[np.argmax(kept[part])])})
        points.extend((float(times[k]), float(kept[k])) for k in ends)
    return points
