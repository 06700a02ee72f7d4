"""Read the entities of a DXF drawing that have an outline, and say what to do about the others."""

import math
from collections.abc import Callable, Iterator, Sequence
from typing import Any, Final

import numpy as np

from farface.files.dxf_curves import Arc, Curve, Spline, Steps
from farface.kernel import Malformed, OutOfRange

# Entities that have an extent along z, or may have one.
_SOLID: Final = {
    *("3DFACE", "3DSOLID", "BODY", "REGION", "MESH", "SURFACE", "EXTRUDEDSURFACE", "LOFTEDSURFACE"),
    *("REVOLVEDSURFACE", "SWEPTSURFACE", "PLANESURFACE", "NURBSURFACE", "HELIX"),
}
# Entities that are left out, and what to do if they matter; any other is left out without advice.
_ADVICE: Final = {
    "TEXT": "convert text to lines", "MTEXT": "convert text to lines", "ATTRIB": "convert text to lines",
    "ATTDEF": "convert text to lines", "DIMENSION": "dimensions are not etched",
    "HATCH": "the closed outline around a hatch makes the pocket", "SOLID": "draw its outline instead",
    "TRACE": "draw its outline instead", "IMAGE": "trace pictures to lines",
}  # fmt: skip
_HIGHEST_DEGREE: Final = 11
_MOST_FIT_POINTS: Final = 1000
# Flags of a vertex that only steers a fitted curve, and is no part of it.
_FRAME: Final = 16


def curves_of(entity: Any) -> tuple[Curve, ...] | None:
    """Return the curves of an entity end to end, or None where it has no outline.

    Raises `Malformed` or `OutOfRange` for a solid, and for what its own numbers make impossible.
    """
    kind = entity.dxftype()
    if kind in _SOLID or (kind == "POLYLINE" and (entity.is_polygon_mesh or entity.is_poly_face_mesh)):
        raise Malformed(f"the drawing has a three-dimensional {kind}. Draw its outline in the plane z = 0.")
    read = _KINDS.get(kind)
    if read is None:
        return None
    try:
        return tuple(read(entity))
    except (Malformed, OutOfRange):
        raise
    except Exception as error:  # the library computes on what it read, and lets any kind through
        raise Malformed(f"the drawing has a {kind} that cannot be read. Draw it again.") from error


def advice(kind: str) -> str:
    """Say what to do about an entity that is left out; the text may be empty."""
    return _ADVICE.get(kind, "")


def _line(entity: Any) -> Iterator[Curve]:
    yield Steps(corners=[entity.dxf.start.xyz, entity.dxf.end.xyz])


def _circle(entity: Any) -> Iterator[Curve]:
    first, last = (0.0, 360.0) if entity.dxftype() == "CIRCLE" else (
        entity.dxf.start_angle, entity.dxf.end_angle
    )  # fmt: skip
    yield _round(entity.ocs(), entity.dxf.center, entity.dxf.radius, first, last)


def _round(system: Any, centre: Any, radius: float, first_deg: float, last_deg: float) -> Arc:
    sweep = math.radians((last_deg - first_deg) % 360.0) or 2.0 * math.pi
    return Arc(
        middle=system.to_wcs(centre).xyz, right=(system.ux * radius).xyz, up=(system.uy * radius).xyz,
        first_rad=math.radians(first_deg), sweep_rad=sweep,
    )  # fmt: skip


def _ellipse(entity: Any) -> Iterator[Curve]:
    dxf = entity.dxf
    sweep = (dxf.end_param - dxf.start_param) % math.tau or math.tau
    yield Arc(
        middle=dxf.center.xyz, right=dxf.major_axis.xyz, up=entity.minor_axis.xyz,
        first_rad=dxf.start_param, sweep_rad=sweep,
    )  # fmt: skip


def _light_polyline(entity: Any) -> Iterator[Curve]:
    rows = entity.get_points("xyb")
    yield from _bulged(rows, entity.closed, entity.dxf.elevation, entity.ocs())


def _polyline(entity: Any) -> Iterator[Curve]:
    vertices = [one for one in entity.vertices if not one.dxf.flags & _FRAME]
    if entity.is_3d_polyline:
        corners = [one.dxf.location.xyz for one in vertices]
        yield Steps(corners=corners + corners[:1] if entity.is_closed else corners)
    elif vertices:
        rows = [one.format("xyb") for one in vertices]
        yield from _bulged(rows, entity.is_closed, vertices[0].dxf.location.z, entity.ocs())


def _bulged(
    rows: Sequence[tuple[float, float, float]], closed: bool, height: float, system: Any
) -> Iterator[Curve]:
    """Yield runs of straight steps, and an arc wherever a vertex has a bulge, the tangent of sweep / 4."""
    rows = [*rows, *rows[: 1 if closed else 0]]
    corners = [system.to_wcs((x, y, height)).xyz for x, y, _ in rows]
    straight = corners[:1]
    for (x0, y0, bulge), (x1, y1, _), corner in zip(rows, rows[1:], corners[1:], strict=False):
        if bulge == 0.0 or (x0, y0) == (x1, y1):
            straight.append(corner)
            continue
        yield Steps(corners=straight)
        start, step = complex(x0, y0), complex(x1 - x0, y1 - y0)
        centre = start + step * (0.5 + 1j * (1.0 - bulge * bulge) / (4.0 * bulge))
        arm = start - centre
        middle = system.to_wcs((centre.real, centre.imag, height))
        yield Arc(
            middle=middle.xyz, right=(system.ux * arm.real + system.uy * arm.imag).xyz,
            up=(system.uy * arm.real - system.ux * arm.imag).xyz, first_rad=0.0,
            sweep_rad=4.0 * math.atan(bulge),
        )  # fmt: skip
        straight = [corner]
    yield Steps(corners=straight)


def _spline(entity: Any) -> Iterator[Curve]:
    if not 1 <= entity.dxf.degree <= _HIGHEST_DEGREE:
        raise OutOfRange(
            f"the drawing has a spline of degree {entity.dxf.degree}; farface reads 1 to {_HIGHEST_DEGREE}."
            " Convert it to a polyline."
        )
    if not entity.control_point_count() and entity.fit_point_count() > _MOST_FIT_POINTS:
        raise OutOfRange("the drawing has a spline through too many points. Convert it to a polyline.")
    tool = entity.construction_tool()
    degree, controls = tool.order - 1, np.array([one.xyz for one in tool.control_points])
    knots = np.array(tool.knots(), dtype=np.float64)
    weights = np.array(tool.weights() or [1.0] * len(controls), dtype=np.float64)
    sound = (
        len(controls) > degree and len(knots) == len(controls) + degree + 1 and len(weights) == len(controls)
        and np.all(np.diff(knots) >= 0.0) and np.all(np.isfinite(knots)) and np.all(weights > 0.0)
        and np.all(np.isfinite(weights)) and knots[degree] < knots[len(controls)]
    )  # fmt: skip
    if not sound:
        raise Malformed("the drawing has a spline whose knots or weights do not fit. Draw it again.")
    yield Spline(degree=degree, knots=knots, controls=controls, weights=weights)


_KINDS: Final[dict[str, Callable[[Any], Iterator[Curve]]]] = {
    "LINE": _line,
    "CIRCLE": _circle,
    "ARC": _circle,
    "ELLIPSE": _ellipse,
    "LWPOLYLINE": _light_polyline,
    "POLYLINE": _polyline,
    "SPLINE": _spline,
}
