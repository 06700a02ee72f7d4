"""Draw the strip: pulse after pulse at one place, with what each did, along one time axis."""

from farface.kernel import show_quantity
from farface.report.labels import heading, paragraph, wrapped
from farface.report.look import canvas
from farface.report.scale import Scale, even_ticks, tick_words
from farface.report.strip_lanes import LANES, Lane, time_scale
from farface.report.strip_place import Place
from farface.report.strip_view import CavitySpan, StripView, cavities_filmed, checked, ends_s, etching_pulses
from farface.report.svg import Svg, document, group, line, text

__all__ = ["CavitySpan", "StripView", "strip_caption", "strip_svg"]

_GAP_PX = 16.0
_WORDS_PX = 22.0  # above a lane, when narrow
_PULSES_RULED = 60  # more pulses than this are not drawn through all lanes

_LEGEND = (
    "Diamond: a pulse that meets an open cavity. Star: ignition, or a flash on film. "
    "Faded line: not measured, ± 1 sd."
)


def strip_svg(view: StripView, *, narrow: bool = False) -> str:
    """Draw the strip as SVG, names beside the lanes or, ``narrow`` for a phone, above them.

    Raises `Missing` without pulses and `OutOfRange` for traces that cannot be drawn.
    """
    checked(view)
    on = canvas(narrow=narrow)
    head, y_px = heading(view.title, invented=view.invented, calibrated=view.calibrated, on=on)
    time = time_scale(view, on.margin_px + 4 if narrow else 206.0, on.width_px - on.margin_px)
    drawn: list[Svg] = []
    y_px += 6
    top_px = y_px
    for lane in LANES:
        if lane.shown(view):
            y_px += _WORDS_PX if narrow else 0.0
            place = Place(time=time, top_px=y_px, height_px=lane.height_px)
            drawn.append(group(_lane_words(view, lane, place, narrow=narrow), lane.draw(view, place)))
            y_px += lane.height_px + _GAP_PX
    ruled = _rules(view, time, top_px, y_px - _GAP_PX)
    legend = wrapped(_LEGEND, "note", on.room_px)
    words = paragraph(on.margin_px, y_px + 52, legend, kind="note")
    body = [head, ruled, *drawn, _time_axis(time, y_px - 6, narrow=narrow), words]
    says = strip_caption(view)
    height_px = y_px + 48 + 16 * len(legend)
    return document(
        title=f"Strip: {view.title}", says=says, width_px=on.width_px, height_px=height_px, body=body
    )


def _lane_words(view: StripView, lane: Lane, place: Place, *, narrow: bool) -> Svg:
    """Write a lane's name and note beside it, or above it in one line when narrow."""
    note = lane.note(view)
    if narrow:
        y_px = place.top_px - 7
        return group(
            text(place.time.start_px - 4, y_px, lane.name),
            text(place.time.end_px, y_px, note, kind="note", anchor="end"),
        )
    lines = wrapped(note, "note", 172)
    y_px = max(place.top_px + 13, place.top_px + place.height_px / 2 - 8)
    return group(text(16, y_px, lane.name), paragraph(16, y_px + 16, lines, kind="note"))


def _rules(view: StripView, time: Scale, top_px: float, bottom_px: float) -> Svg:
    """Draw each pulse as a faint line through all lanes, so that effects stand below their cause."""
    if view.pulse_times_s.size > _PULSES_RULED:
        return group()
    places = (time.at(float(t)) for t in view.pulse_times_s)
    return group(*(line((x, top_px), (x, bottom_px), "grid") for x in places), class_="ff-rules")


def _time_axis(time: Scale, y_px: float, *, narrow: bool) -> Svg:
    """Draw the time axis, in us from the first pulse."""
    ticks_us = even_ticks(1e6 * time.low, 1e6 * time.high, 6 if narrow else 11)
    drawn = [line((time.start_px, y_px), (time.end_px, y_px), "edge axis")]
    for tick_us in ticks_us:
        x_px = time.at(1e-6 * tick_us)
        drawn.append(line((x_px, y_px), (x_px, y_px + 5), "edge"))
        drawn.append(text(x_px, y_px + 18, tick_words(tick_us), kind="note", anchor="middle"))
    drawn.append(text(time.end_px, y_px + 34, "time, us", kind="note", anchor="end"))
    return group(*drawn, class_="ff-time")


def strip_caption(view: StripView) -> str:
    """Say what to conclude from the strip."""
    pulses, ignitions = view.pulse_times_s.size, view.ignition_times_s.size
    first_s, last_s = ends_s(view)
    within = show_quantity(last_s - first_s, "s", digits=2)
    inside = int(etching_pulses(view).sum())
    can_etch = f"{inside or 'none'} {'arrives' if inside == 1 else 'arrive'} in an open cavity and can etch"
    if ignitions == 0:
        parts = [f"None of {pulses} pulses in {within} ignites: the liquid never gets hot enough."]
    else:
        share = f"one in {pulses / ignitions:.2g}"
        parts = [f"{ignitions} of {pulses} pulses in {within} ignite ({share}); {can_etch}."]
    if view.frame_times_s is not None and view.cavities:
        parts.append(f"The camera catches {cavities_filmed(view)} of {len(view.cavities)} cavities open.")
    if not view.calibrated:
        parts.append("Not calibrated yet: a prior estimate.")
    return " ".join(parts)
