"""Turn the paths of an SVG drawing into outlines of straight steps, in plate coordinates."""

import math
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from farface.kernel import OutOfRange

# No straight step leaves its curve by more; a galvo spot is twenty times wider.
CHORD_ERROR_M: Final = 1e-6
LARGEST_M: Final = 1.0

Points = NDArray[np.float64]

_CONTROLS: Final[dict[str, tuple[str, ...]]] = {
    "Line": (),
    "QuadraticBezier": ("control",),
    "CubicBezier": ("control1", "control2"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Outline:
    """Hold one run of a path, vertices of shape (vertices, 2); a closed one does not repeat its first."""

    vertices_m: Points
    closed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """Place the page on the plate, middle on middle, with y upwards; ``pixel_m`` is the size of an SVG px."""

    middle_px: tuple[float, float]
    pixel_m: float

    def to_plate_m(self, transform: Any) -> NDArray[np.float64]:
        """Return the matrix, shape (3, 2), that takes an element's rows (x, y, 1) to the plate, in metres."""
        (x, y), t = self.middle_px, transform
        return np.array([[t.a, -t.b], [t.c, -t.d], [t.e - x, y - t.f]]) * self.pixel_m


def outlines_of(element: Any, page: Page) -> tuple[Outline, ...]:
    """Return the runs of one shape of the SVG library, without those that are a single place.

    Raises `OutOfRange` for coordinates beyond a metre, or that are no numbers.
    """
    to_plate = page.to_plate_m(element.transform)
    runs: list[list[Points]] = []
    closed: list[bool] = []
    for segment in element.segments(transformed=False):
        kind = type(segment).__name__
        if kind == "Move":
            runs.append([_placed([segment.end], to_plate)])
            closed.append(False)
        elif kind == "Close":
            closed[-1] = True
        else:
            runs[-1].append(_steps(kind, segment, to_plate))
    outlines = (trimmed(np.vstack(run), closed=shut) for run, shut in zip(runs, closed, strict=True))
    return tuple(outline for outline in outlines if len(outline.vertices_m) > 1)


def trimmed(vertices_m: Points, *, closed: bool) -> Outline:
    """Drop steps of no length; a run that ends where it began is closed, whether or not it says so."""
    moved = np.any(np.diff(vertices_m, axis=0) != 0.0, axis=1)
    vertices_m = vertices_m[np.concatenate(([True], moved))]
    if len(vertices_m) > 2 and np.hypot(*(vertices_m[-1] - vertices_m[0])) <= CHORD_ERROR_M:
        return Outline(vertices_m=vertices_m[:-1], closed=True)
    return Outline(vertices_m=vertices_m, closed=closed)


def _placed(points: list[Any], to_plate: NDArray[np.float64]) -> Points:
    rows = np.array([(float(point.x), float(point.y), 1.0) for point in points])
    with np.errstate(all="ignore"):
        placed: Points = rows @ to_plate
    if not np.all(np.abs(placed) <= LARGEST_M):  # not so for NaN
        raise OutOfRange(
            f"the drawing has a point farther than {LARGEST_M:.0f} m from its middle, or no number for one."
            " Check its units and its page size."
        )
    return placed


def _steps(kind: str, segment: Any, to_plate: NDArray[np.float64]) -> Points:
    """Return the vertices of a segment after its start."""
    if kind == "Arc":
        return _arc_steps(segment, to_plate)
    controls = [segment.start, *(getattr(segment, name) for name in _CONTROLS[kind]), segment.end]
    return _curve_steps(_placed(controls, to_plate))


def _curve_steps(controls_m: Points) -> Points:
    """Flatten a Bezier curve of degree d in n equal steps of its parameter.

    A chord leaves it by at most (d (d - 1) / 8) max |P_(i+2) - 2 P_(i+1) + P_i| / n^2.
    """
    degree = len(controls_m) - 1
    if degree == 1:
        return controls_m[1:]
    bend_m = np.hypot(*np.diff(controls_m, n=2, axis=0).T).max(initial=0.0)
    n = max(1, math.ceil(math.sqrt(degree * (degree - 1) / 8.0 * bend_m / CHORD_ERROR_M)))
    t, i = np.linspace(0.0, 1.0, n + 1)[1:, None], np.arange(degree + 1)
    weights = np.array([math.comb(degree, k) for k in i]) * t**i * (1.0 - t) ** (degree - i)
    return np.asarray(weights @ controls_m)


def _arc_steps(arc: Any, to_plate: NDArray[np.float64]) -> Points:
    """Flatten an elliptic arc in equal steps of its angle; a chord leaves it by at most r (step)^2 / 8."""
    _placed([arc.start, arc.end, arc.center], to_plate)
    radius_m = max(arc.rx, arc.ry) * float(np.linalg.norm(to_plate[:2], ord=2))
    n = max(1, math.ceil(abs(arc.sweep) * math.sqrt(radius_m / (8.0 * CHORD_ERROR_M))))
    return _placed([arc.point(k / n) for k in range(1, n)] + [arc.end], to_plate)
