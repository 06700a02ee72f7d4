"""Draw the strip's cavities, computed and seen on film, as radius over time."""

from typing import Final

import numpy as np

from farface.report.strip_place import Place, base, star
from farface.report.strip_view import CavitySpan, StripView
from farface.report.svg import Svg, element, group, polyline, way

_CURVE_STEPS: Final = 18


def cavity(view: StripView, place: Place) -> Svg:
    """Draw the radius of each cavity over its life."""
    return group(base(place), *_humps(view.cavities, place, "ff-bath", largest_m(view)))


def film(view: StripView, place: Place) -> Svg:
    """Draw what the film showed: bubbles as curves, flashes as stars."""
    drawn = [base(place), *_humps(view.film_bubbles or (), place, "ff-vapour", largest_m(view))]
    for time_s in view.film_flashes_s or ():
        d = star(place.time.at(time_s), place.bottom_px - 8)
        drawn.append(element("path", d=d, class_="ff-glyph"))
    return group(*drawn)


def largest_m(view: StripView) -> float:
    """Give the largest radius of all cavities, computed or filmed, which sets the height of both lanes."""
    spans = (*view.cavities, *(view.film_bubbles or ()))
    return max((span.radius_max_m for span in spans), default=0.0)


def _humps(spans: tuple[CavitySpan, ...], place: Place, kind: str, top_m: float) -> list[Svg]:
    """Draw each cavity's radius over its life, R = R_max (1 - u^2)^(2/5) with u from -1 to 1.

    A published approximation of Rayleigh's collapse, here mirrored for the growth [obreschkow2012].
    """
    shares = -np.cos(np.linspace(0.0, np.pi, 2 * _CURVE_STEPS + 1))
    drawn: list[Svg] = []
    for span in spans:
        height_px = 0.94 * place.height_px * span.radius_max_m / top_m if top_m > 0.0 else 0.0
        times_s = span.open_s + (span.close_s - span.open_s) * (shares + 1.0) / 2.0
        heights = place.bottom_px - height_px * np.clip(1.0 - shares**2, 0.0, 1.0) ** 0.4
        points = [(place.time.at(float(t)), float(y)) for t, y in zip(times_s, heights, strict=True)]
        d = way(points, closed=True)
        drawn.append(element("path", d=d, class_=f"{kind} ff-span", fill_opacity=0.5))
        drawn.append(polyline(points, "edge"))
    return drawn
