"""Draw the section: a cut to scale through lens cone, plate, far face and bath, with a close-up.

Measured and stated edges are sharp; computed, assumed and loosely known ones fade over ± one standard
deviation. Both panels keep one scale in both directions and carry their own scale bar.
"""

from farface.kernel import show_quantity
from farface.report.frame import Frame
from farface.report.labels import Column, heading, paragraph, wrapped
from farface.report.look import canvas
from farface.report.scale import scale_bar
from farface.report.section_close import close_frame, close_up
from farface.report.section_overview import overview, overview_frame
from farface.report.section_view import SectionView, bubble_bottom_m, bubble_centre_m, checked, column_end_m
from farface.report.svg import Svg, document, group, line, rect, text

__all__ = ["SectionView", "section_caption", "section_svg"]

_LEGEND = "Sharp edge: measured or stated. Faded edge: computed, assumed or loosely known, over ± 1 sd."


def section_svg(view: SectionView, *, narrow: bool = False) -> str:
    """Draw the section as SVG, side by side for pages and paper or ``narrow`` for a phone.

    Raises `OutOfRange` for lengths that cannot be drawn.
    """
    view = checked(view)
    on = canvas(narrow=narrow)
    head, top_px = heading(view.title, invented=view.invented, calibrated=view.calibrated, on=on)
    whole, whole_labels, close, close_labels = _layout(view, top_px, narrow=narrow)
    bars_px = close.bottom_px + 24
    legend = wrapped(_LEGEND, "note", on.room_px)
    body = [
        head,
        overview(view, whole, whole_labels),
        close_up(view, close, close_labels),
        _call_out(whole, close, narrow=narrow),
        _footer(whole, "overview"),
        _footer(close, f"close-up, {close.px_per_m / whole.px_per_m:.2g} ×"),
        paragraph(on.margin_px, bars_px + 30, legend, kind="note"),
    ]
    height_px = bars_px + 30 + 16 * len(legend)
    title, says = f"Section: {view.title}", section_caption(view)
    return document(title=title, says=says, width_px=on.width_px, height_px=height_px, body=body)


def _layout(view: SectionView, top_px: float, *, narrow: bool) -> tuple[Frame, Column, Frame, Column]:
    """Lay out the two panels and their labels: side by side, or below each other when narrow."""
    if narrow:
        whole = overview_frame(view, 8, top_px, 230, 300)
        close = close_frame(view, 8, whole.bottom_px + 72, 230, 340)
        return whole, _right_of(whole, 252, 134), close, _right_of(close, 252, 134)
    whole = overview_frame(view, 168, top_px, 330, 380)
    close = close_frame(view, 542, top_px, 290, 380)
    ends = {"top_px": whole.top_px, "bottom_px": whole.bottom_px}
    left = Column(edge_px=whole.left_px, text_px=150, room_px=136, **ends)
    return whole, left, close, _right_of(close, 850, 144)


def _right_of(frame: Frame, text_px: float, room_px: float) -> Column:
    ends = {"top_px": frame.top_px, "bottom_px": frame.bottom_px}
    return Column(edge_px=frame.right_px, text_px=text_px, room_px=room_px, **ends)


def _call_out(whole: Frame, close: Frame, *, narrow: bool) -> Svg:
    """Outline in the overview what the close-up shows, and join the two."""
    half_m = close.half_width_m
    left, top = whole.point(-half_m, close.top_m)
    right, bottom = whole.point(half_m, close.bottom_m)
    if narrow:
        joins = (
            ((left, bottom), (close.left_px, close.top_px)),
            ((right, bottom), (close.right_px, close.top_px)),
        )
    else:
        joins = (
            ((right, top), (close.left_px, close.top_px)),
            ((right, bottom), (close.left_px, close.bottom_px)),
        )
    box = rect(left, top, right - left, bottom - top, class_="ff-hair ff-window")
    return group(box, *(line(*ends, "hair dots") for ends in joins), class_="ff-call-out")


def _footer(frame: Frame, words: str) -> Svg:
    """Write below a panel what it is, with its scale bar."""
    y_px = frame.bottom_px + 20
    bar = scale_bar(frame.px_per_m, right_px=frame.right_px - 4, y_px=y_px, longest_px=0.3 * frame.width_px)
    return group(text(frame.left_px, y_px + 4.5, words, kind="note"), bar)


def section_caption(view: SectionView) -> str:
    """Say what to conclude from the section; raises as `section_svg` does."""
    view = checked(view)
    length = show_quantity(view.absorption_length_m.value, "m")
    parts = [f"The bath leaves 37 % of the light at a depth of {length}."]
    bubble = view.bubble_radius_m
    if bubble is None:
        parts.append("No bubble is drawn: none is expected, or its size is not known.")
    elif bubble.value >= bubble_centre_m(view):
        parts.append(
            f"The bubble, {show_quantity(bubble.value, 'm')} in radius, reaches the glass: "
            "a pulse that arrives while it is open meets vapour at the far face."
        )
    else:
        clear = show_quantity(2 * bubble_centre_m(view) - bubble_bottom_m(view), "m")
        parts.append(f"The bubble bursts {clear} below the glass: little of it works on the far face.")
    if column_end_m(view) > view.absorption_length_m.value:
        parts.append("The superheated column is longer than the absorption length: the pulse is strong.")
    if not view.calibrated:
        parts.append("Nothing here is calibrated yet: sizes that fade are prior estimates.")
    return " ".join(parts)
