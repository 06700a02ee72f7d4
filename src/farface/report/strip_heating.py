"""Draw the strip's heating: the liquid's temperature rise, and the rise from which on it turns to vapour."""

from farface.report.known_text import show_known
from farface.report.scale import Scale, even_ticks, tick_words
from farface.report.soft import Paint, marked
from farface.report.strip_place import Place, base, envelope, star
from farface.report.strip_view import StripView
from farface.report.svg import Svg, element, group, line, polyline, rect, text, way


def heating(view: StripView, place: Place) -> Svg:
    """Draw the temperature rise with the threshold, and a star where a cavity ignites."""
    rise = _heating_scale(view, place)
    points = [(place.time.at(t), rise.at(v)) for t, v in envelope(view.trace_times_s, view.trace_rise_k)]
    drawn = [base(place), _threshold(view, place, rise)]
    for tick in even_ticks(0.0, rise.high, 5):
        drawn.append(
            line((place.time.start_px - 4, rise.at(tick)), (place.time.start_px, rise.at(tick)), "hair")
        )
        if 0.0 < tick < 0.85 * rise.high:
            words = f"{tick_words(tick)} K"
            drawn.append(text(place.time.start_px + 3, rise.at(tick) - 3, words, kind="note halo"))
    if points:
        area = [(points[0][0], place.bottom_px), *points, (points[-1][0], place.bottom_px)]
        drawn.append(element("path", d=way(area, closed=True), class_="ff-accent", fill_opacity=0.14))
        drawn.append(polyline(points, "accent-line trace"))
    for time_s in view.ignition_times_s:
        x_px = place.time.at(float(time_s))
        drawn.append(element("path", d=star(x_px, rise.at(view.threshold_rise_k.value)), class_="ff-glyph"))
    return group(*drawn)


def _heating_scale(view: StripView, place: Place) -> Scale:
    """Give the scale of the temperature rise, from 0 to a little above trace and threshold."""
    highest = max(float(view.trace_rise_k.max(initial=0.0)), view.threshold_rise_k.value)
    return Scale(low=0.0, high=1.12 * highest, start_px=place.bottom_px, end_px=place.top_px)


def _threshold(view: StripView, place: Place, rise: Scale) -> Svg:
    """Draw the rise at which a cavity opens: a line if measured, else a band over ± sd."""
    start_px, end_px = place.time.start_px, place.time.end_px

    def band(ends_k: tuple[float, float], fill: dict[str, str | float]) -> Svg:
        top_px, bottom_px = rise.at(ends_k[1]), min(rise.at(ends_k[0]), place.bottom_px)
        return rect(start_px, top_px, end_px - start_px, bottom_px - top_px, **fill)

    def sharp(rise_k: float) -> Svg:
        return line((start_px, rise.at(rise_k)), (end_px, rise.at(rise_k)), "edge")

    paint = Paint(kind="ink", name="threshold", opacity=0.32)
    return group(marked(view.threshold_rise_k, paint, rise.at, band, sharp), class_="ff-threshold")


def heating_note(view: StripView) -> str:
    """Say from which rise on vapour forms, and how that is known."""
    return f"vapour from {show_known(view.threshold_rise_k, 'K')} on, {view.threshold_rise_k.how}"
