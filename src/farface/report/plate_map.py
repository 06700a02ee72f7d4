"""Draw a plate with its cells as the laser sees them: what is expected in each, and what was seen."""

from dataclasses import dataclass
from typing import Final

from farface.records import SEEN, Seen
from farface.report.labels import heading, paragraph, wrapped
from farface.report.look import canvas
from farface.report.outcome_marks import marks, marks_legend
from farface.report.svg import Svg, document, element, group, rect, text

_TALLEST_PX: Final = 620.0
_ROOM_SHARE: Final = 0.66  # of the distance to the next cell
_LEAST_SHARE: Final = 0.01  # thinner bands than this share of a cell are left out


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateCell:
    """Hold one cell: its place from the plate's centre, y upwards, and what was seen in it.

    ``odds`` stand in the order of `SEEN`; ``odd_one`` marks a reading that the fit finds unlikely.
    """

    label: str
    order: int
    x_m: float
    y_m: float
    size_m: float
    odds: tuple[float, ...]
    seen: Seen | None = None
    odd_one: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateView:
    """Hold a plate with its cells; the caption says what to conclude."""

    title: str
    invented: bool
    calibrated: bool
    width_m: float
    height_m: float
    cells: tuple[PlateCell, ...]


def plate_svg(view: PlateView, *, narrow: bool = False) -> str:
    """Draw each cell as a stack of bands, one an outcome, as tall as its odds; a mark is what was seen."""
    on = canvas(narrow=narrow)
    head, top_px = heading(view.title, invented=view.invented, calibrated=view.calibrated, on=on)
    wide_px = min(on.room_px, _TALLEST_PX * view.width_m / view.height_m)
    scale = wide_px / view.width_m
    left_px = on.margin_px + (on.room_px - wide_px) / 2
    tall_px = view.height_m * scale
    plate = rect(left_px, top_px, wide_px, tall_px, rx=6, class_="ff-glass")
    edge = rect(left_px, top_px, wide_px, tall_px, rx=6, class_="ff-hair")
    middle = (left_px + wide_px / 2, top_px + tall_px / 2)
    size_px = _drawn_size_m(view) * scale
    cells = [_cell(cell, scale, middle, size_px) for cell in view.cells]
    y_px = top_px + tall_px + 26
    legend, legend_px = marks_legend(on.margin_px, y_px, on.room_px)
    lines = wrapped(_legend(view), "note", on.room_px)
    words = paragraph(on.margin_px, y_px + legend_px + 4, lines, kind="note")
    return document(
        title=f"Plate: {view.title}", says=plate_caption(view), width_px=on.width_px,
        height_px=y_px + legend_px + 16 * len(lines) + 8, body=[head, plate, edge, *cells, legend, words],
    )  # fmt: skip


def plate_caption(view: PlateView) -> str:
    """Say what is expected of most cells, and how many readings were the likeliest or unlikely."""
    seen = [cell for cell in view.cells if cell.seen is not None]
    if seen:
        hit = sum(cell.odds.index(max(cell.odds)) == SEEN.index(cell.seen) for cell in seen if cell.seen)
        odd = sum(cell.odd_one for cell in seen)
        tail = f" {_cells(odd)} the model finds unlikely: look at them again." if odd else ""
        return f"The likeliest outcome was the one seen in {hit} of {_cells(len(seen))}.{tail}"
    expected = {name: sum(cell.odds[k] for cell in view.cells) for k, name in enumerate(SEEN)}
    return (
        f"Of {_cells(len(view.cells))} about {expected['steady']:.0f} should etch steadily, about "
        f"{expected['runaway'] + expected['broken']:.0f} run away or break, and about "
        f"{expected['nothing'] + expected['frosted']:.0f} do little or nothing."
    )


def _legend(view: PlateView) -> str:
    marked = " The mark is what was seen; a heavy frame is a reading the model finds unlikely."
    shown = marked if any(cell.seen for cell in view.cells) else " The number is the cell's turn."
    return (
        f"Each cell is filled in proportion to the odds of its outcomes.{shown} Seen through the glass; "
        "places are to scale, cells are drawn larger."
    )


def _drawn_size_m(view: PlateView) -> float:
    """Draw cells as large as their spacing allows, so that their odds can be read."""
    places = [(cell.x_m, cell.y_m) for cell in view.cells]
    steps = [
        max(abs(x - u), abs(y - v)) for k, (x, y) in enumerate(places) for u, v in places[:k]
    ]  # fmt: skip
    least_m = max(cell.size_m for cell in view.cells)
    return max(least_m, _ROOM_SHARE * min(steps, default=least_m))


def _cell(cell: PlateCell, scale: float, middle: tuple[float, float], size: float) -> Svg:
    x_px, y_px = middle[0] + cell.x_m * scale, middle[1] - cell.y_m * scale
    left, top = x_px - size / 2, y_px - size / 2
    inside = _mark(cell, x_px, y_px, size) if cell.seen else _turn(cell, x_px, y_px)
    frame = rect(left, top, size, size, class_="ff-outline" if cell.odd_one else "ff-hair")
    name = text(left, top - 4, cell.label, kind="note halo")
    return group(*_bands(cell, left, top, size), frame, inside, name, class_="ff-cell")


def _bands(cell: PlateCell, left: float, top: float, size: float) -> list[Svg]:
    drawn, done = [], 0.0
    for name, share in zip(SEEN, cell.odds, strict=True):
        if share >= _LEAST_SHARE:
            drawn.append(rect(left, top + size * done, size, size * share + 0.4, class_=f"ff-{name}"))
        done += share
    return drawn


def _mark(cell: PlateCell, x_px: float, y_px: float, size: float) -> Svg:
    assert cell.seen is not None
    disc = element("circle", cx=x_px, cy=y_px, r=size * 0.34, class_="ff-paper")
    return group(disc, marks(cell.seen, [(x_px, y_px)], size * 0.4))


def _turn(cell: PlateCell, x_px: float, y_px: float) -> Svg:
    return text(x_px, y_px + 5, str(cell.order), kind="label halo", anchor="middle")


def _cells(count: int) -> str:
    return f"{count} cell" if count == 1 else f"{count} cells"
