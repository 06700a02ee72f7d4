"""Paint what is known sharp and what is not soft: an edge fades over one sd to each side of its value."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from farface.records import Known
from farface.report.known_text import is_soft
from farface.report.svg import Point, Svg, element, group, local, refer

# The narrowest fade, to each side, that still reads as soft.
_FADE_MIN_PX: Final = 2.5
# Share of the fade, share of the opacity left: a smooth step, steepest at the value.
_STEP: Final = tuple((k / 8, 1.0 - (k / 8) ** 2 * (3.0 - 2.0 * k / 8)) for k in range(9))


@dataclass(frozen=True, slots=True, kw_only=True)
class Paint:
    """Say how a shape is filled: with colour ``kind`` at an opacity; ``name`` names its gradient if soft."""

    kind: str
    name: str
    opacity: float


# Give the vertical coordinate of a value, on an even scale.
Place = Callable[[float], float]
Draw = Callable[[float, dict[str, str | float]], Svg]


def fade_m(known: Known, px_per_m: float) -> float:
    """Give the half-width of a soft edge: one standard deviation, or what can just be seen as soft."""
    return max(known.sd, _FADE_MIN_PX / px_per_m)


def edged(known: Known, paint: Paint, at: Place, draw: Draw) -> Svg:
    """Draw a shape that ends, upwards or downwards, at ``known``.

    ``at`` gives the vertical coordinate of a value; ``draw`` takes the value at which the shape ends and
    the attributes of its fill.
    """
    if not is_soft(known):
        return _sharp(draw(known.value, plainly(paint)))
    half = fade_m(known, abs(at(1.0) - at(0.0)))
    ends = (0.0, at(known.value - half)), (0.0, at(known.value + half))
    gradient = linear(paint.name, paint.kind, [(s, paint.opacity * o) for s, o in _STEP], *ends)
    return _soft(gradient, draw(known.value + half, {"fill": refer(paint.name)}))


def round_edged(known: Known, paint: Paint, centre_px: Point, draw: Draw, *, px_per_m: float) -> Svg:
    """Draw a ball of radius ``known`` about a centre; ``draw`` takes radius and attributes of the fill."""
    if not is_soft(known):
        return _sharp(draw(known.value, plainly(paint)))
    half = fade_m(known, px_per_m)
    outer, inner = known.value + half, max(0.0, known.value - half)
    stops = [(inner / outer + (1.0 - inner / outer) * s, paint.opacity * o) for s, o in _STEP]
    at = {"cx": centre_px[0], "cy": centre_px[1], "r": outer * px_per_m}
    gradient = element(
        "radialGradient", *_stops(paint.kind, stops), id=local(paint.name), **_IN_PICTURE, **at
    )
    return _soft(gradient, draw(outer, {"fill": refer(paint.name)}))


def marked(
    known: Known,
    paint: Paint,
    at: Place,
    band: Callable[[tuple[float, float], dict[str, str | float]], Svg],
    sharp: Callable[[float], Svg],
) -> Svg:
    """Draw a mark at ``known``: ``sharp`` a line, or else a band that is densest at the value."""
    if not is_soft(known):
        return _sharp(sharp(known.value))
    half = fade_m(known, abs(at(1.0) - at(0.0)))
    falling = [(0.5 + s / 2, paint.opacity * o) for s, o in _STEP]
    rising = [(1.0 - s, o) for s, o in reversed(falling)]
    ends = (0.0, at(known.value - half)), (0.0, at(known.value + half))
    gradient = linear(paint.name, paint.kind, [*rising, *falling], *ends)
    return _soft(gradient, band((known.value - half, known.value + half), {"fill": refer(paint.name)}))


def plainly(paint: Paint) -> dict[str, str | float]:
    """Give the attributes of an even fill."""
    return {"class_": f"ff-{paint.kind}", "fill_opacity": paint.opacity}


def linear(name: str, kind: str, stops: Sequence[tuple[float, float]], start: Point, end: Point) -> Svg:
    """Define a gradient of one colour between two points; stops are (share of the way, opacity)."""
    ends = {"x1": start[0], "y1": start[1], "x2": end[0], "y2": end[1]}
    return element("linearGradient", *_stops(kind, stops), id=local(name), **_IN_PICTURE, **ends)


_IN_PICTURE: Final[dict[str, str]] = {"gradientUnits": "userSpaceOnUse"}


def _stops(kind: str, stops: Sequence[tuple[float, float]]) -> list[Svg]:
    written = ((f"{share:.4f}", f"{opacity:.4f}") for share, opacity in stops)
    return [element("stop", offset=s, class_=f"ff-{kind}-stop", stop_opacity=o) for s, o in written]


def _sharp(drawn: Svg) -> Svg:
    return group(drawn, class_="ff-sharp")


def _soft(gradient: Svg, drawn: Svg) -> Svg:
    return group(gradient, drawn, class_="ff-soft")
