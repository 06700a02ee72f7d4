"""Draw a mark of its own for each outcome, so that no meaning rests on colour alone."""

import math
from collections.abc import Sequence

from farface.records import SEEN, Seen
from farface.report.labels import width_px
from farface.report.look import SEEN_WORDS
from farface.report.svg import Point, Svg, element, group, number, rect, text, way

OPEN_MARKS: tuple[Seen, ...] = ("nothing", "frosted", "broken")


def mark_way(seen: Seen, at: Point, size_px: float) -> str:
    """Write the path of an outcome's mark about a point.

    Nothing is a dash, frosted a ring, steady a diamond; a burst below the face points down into the bath,
    a runaway up into the glass; broken is a cross.
    """
    x, y = at
    r = size_px / 2
    if seen == "nothing":
        return way(((x - 0.6 * r, y), (x + 0.6 * r, y)))
    if seen == "frosted":
        around = [
            (x + 0.8 * r * math.cos(k * math.pi / 6), y + 0.8 * r * math.sin(k * math.pi / 6))
            for k in range(12)
        ]
        return way(around, closed=True)
    if seen == "steady":
        return way(((x, y - r), (x + r, y), (x, y + r), (x - r, y)), closed=True)
    if seen == "broken":
        arm = 0.75 * r
        return way(((x - arm, y - arm), (x + arm, y + arm))) + way(((x + arm, y - arm), (x - arm, y + arm)))
    down = 1.0 if seen == "burst_below" else -1.0
    return way(
        ((x - r, y - 0.7 * r * down), (x + r, y - 0.7 * r * down), (x, y + 0.9 * r * down)), closed=True
    )


def marks(seen: Seen, places: Sequence[Point], size_px: float) -> Svg:
    """Draw one outcome's marks at many places as a single shape."""
    if not places:
        return group()
    kind = "ff-glyph-open" if seen in OPEN_MARKS else "ff-glyph"
    return element("path", d="".join(mark_way(seen, at, size_px) for at in places), class_=kind)


def marks_legend(left_px: float, y_px: float, room_px: float) -> tuple[Svg, float]:
    """Write what each mark means, in rows; give the drawing and its height."""
    drawn: list[Svg] = []
    x_px, top_px = left_px, y_px
    for seen in SEEN:
        words = SEEN_WORDS[seen]
        wide_px = 28 + width_px(words, "note") + 14
        if x_px > left_px and x_px + wide_px > left_px + room_px:
            x_px, y_px = left_px, y_px + 26
        drawn.append(rect(x_px, y_px - 14, 20, 20, rx=3, class_=f"ff-{seen}"))
        drawn.append(marks(seen, [(x_px + 10, y_px - 4)], 10))
        drawn.append(text(x_px + 27, y_px, words, kind="note"))
        x_px += wide_px
    return group(*drawn, class_="ff-marks"), y_px - top_px + 26


def outline_way(cells: Sequence[Sequence[bool]], left_px: Sequence[float], top_px: Sequence[float]) -> str:
    """Write the outline of marked cells; ``left_px`` and ``top_px`` are the cell edges, one more than cells.

    Rows of ``cells`` are in the order of ``top_px``.
    """
    rows, columns = len(cells), len(cells[0])

    def inside(row: int, column: int) -> bool:
        return 0 <= row < rows and 0 <= column < columns and cells[row][column]

    parts = []
    for row in range(rows + 1):
        for column in range(columns + 1):
            x, y = number(left_px[column]), number(top_px[row])
            if inside(row, column) != inside(row - 1, column) and column < columns:
                parts.append(f"M{x} {y}H{number(left_px[column + 1])}")
            if inside(row, column) != inside(row, column - 1) and row < rows:
                parts.append(f"M{x} {y}V{number(top_px[row + 1])}")
    return "".join(parts)
