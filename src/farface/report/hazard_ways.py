"""Draw how far each way out of the beam is a hazard to eyes, with the width of a room for measure."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from farface.kernel import show_number
from farface.report.labels import heading
from farface.report.look import canvas
from farface.report.scale import Scale
from farface.report.svg import Svg, document, group, line, rect, text

ROOM_M: Final = 5.0  # across a workshop's room; common practice, no source
_TICKS_M: Final = (0.1, 1.0, 10.0, 100.0, 1e3, 1e4, 1e5)


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """Hold one way that light may take to an eye, and how far it is a hazard, by estimate."""

    name: str
    distance_m: float


def ways_svg(ways: Sequence[Way], *, title: str, invented: bool, narrow: bool = False) -> str:
    """Draw a bar a way from a tenth of a metre on; the line marks the width of a room."""
    on = canvas(narrow=narrow)
    head, top_px = heading(title, invented=invented, calibrated=True, on=on)
    start_px = on.margin_px + (4.0 if narrow else 330.0)
    end_px = on.width_px - on.margin_px - 70.0
    farthest = max(1.1 * ROOM_M, *(way.distance_m for way in ways))
    scale = Scale(low=_TICKS_M[0], high=farthest, start_px=start_px, end_px=end_px, logarithmic=True)
    step_px = 46.0 if narrow else 34.0
    bottom_px = top_px + 14 + step_px * len(ways)
    bars = [_bar(way, scale, top_px + 14 + step_px * k, on.margin_px, narrow) for k, way in enumerate(ways)]
    room_px = scale.at(ROOM_M)
    room = group(
        line((room_px, top_px + 6), (room_px, bottom_px), "edge"),
        text(room_px + 5, top_px + 8, f"a room of {ROOM_M:g} m", kind="note halo"),
    )
    return document(
        title="Distances: hazard to eyes", says=ways_caption(ways), width_px=on.width_px,
        height_px=bottom_px + 40, body=[head, _axis(scale, top_px + 12, bottom_px), *bars, room],
    )  # fmt: skip


def ways_caption(ways: Sequence[Way]) -> str:
    """Say which ways reach past a room, by estimate."""
    past = [way for way in ways if way.distance_m > ROOM_M]
    if not past:
        return f"By estimate no way reaches past a room of {ROOM_M:g} m; enclose the beam all the same."
    near = [way.name for way in ways if way.distance_m <= ROOM_M]
    tail = f" Only {' and '.join(near)} stays within it." if len(near) == 1 else ""
    return (
        f"By estimate {len(past)} of {len(ways)} ways out are a hazard to eyes beyond a room of "
        f"{ROOM_M:g} m: only an enclosure on all sides keeps them in.{tail}"
    )


def _axis(scale: Scale, top_px: float, bottom_px: float) -> Svg:
    drawn: list[Svg] = []
    for tick in _TICKS_M:
        if scale.low <= tick <= scale.high:
            x_px = scale.at(tick)
            drawn.append(line((x_px, top_px), (x_px, bottom_px), "grid"))
            words = f"{tick / 1e3:g} km" if tick >= 1e3 else f"{tick:g} m"
            drawn.append(text(x_px, bottom_px + 18, words, kind="note", anchor="middle"))
    return group(*drawn, class_="ff-axis")


def _bar(way: Way, scale: Scale, y_px: float, margin_px: float, narrow: bool) -> Svg:
    end_px = scale.at(min(max(way.distance_m, scale.low), scale.high))
    down_px = 17.0 if narrow else 5.0
    bar = rect(
        scale.start_px, y_px + down_px, max(2.0, end_px - scale.start_px), 16, rx=2, class_="ff-accent"
    )
    if narrow:
        name = text(margin_px + 4, y_px + 13, way.name, kind="note halo ink")
    else:
        name = text(scale.start_px - 12, y_px + 18, way.name, kind="label", anchor="end")
    value = text(end_px + 7, y_px + down_px + 13, _metres(way.distance_m), kind="label halo")
    return group(bar, name, value, class_="ff-way")


def _metres(distance_m: float) -> str:
    if not math.isfinite(distance_m):
        return "any distance"
    return (
        f"{show_number(distance_m / 1e3, 2)} km" if distance_m >= 1e3 else f"{show_number(distance_m, 2)} m"
    )
