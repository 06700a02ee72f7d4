"""Place words in pictures: wrapped lines, labels beside a panel with leader lines, headings and tags."""

from collections.abc import Sequence
from dataclasses import dataclass

from farface.report.look import CHARACTER_SHARE, SIZES_PX, Canvas
from farface.report.svg import Svg, element, group, polyline, rect, text

LINE_SHARE = 1.28  # line height as a share of the type size


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """Hold the words for a feature drawn at (x, y): a first line that counts and a quieter second one."""

    x_px: float
    y_px: float
    words: str
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """Hold where labels stand: the panel's edge, where their text starts (or ends, left of a panel)."""

    edge_px: float
    text_px: float
    room_px: float
    top_px: float
    bottom_px: float

    @property
    def left_of_panel(self) -> bool:
        """Say whether the column stands left of its panel."""
        return self.text_px < self.edge_px


def width_px(words: str, kind: str) -> float:
    """Estimate the width of a line of text, on the wide side; fonts differ from machine to machine."""
    return len(words) * CHARACTER_SHARE * SIZES_PX[kind]


def wrapped(words: str, kind: str, room_px: float) -> list[str]:
    """Break words into lines that fit; a single word that is too long is cut with an ellipsis."""
    most = max(4, int(room_px / (CHARACTER_SHARE * SIZES_PX[kind])))
    lines: list[str] = []
    for word in words.split():
        word = word if len(word) <= most else word[: most - 1] + "…"
        if lines and len(lines[-1]) + 1 + len(word) <= most:
            lines[-1] += " " + word
        else:
            lines.append(word)
    return lines


def paragraph(x_px: float, y_px: float, lines: Sequence[str], *, kind: str, anchor: str = "start") -> Svg:
    """Write lines below each other, the first with its baseline at ``y_px``."""
    step = LINE_SHARE * SIZES_PX[kind.split()[0]]
    return group(
        *(text(x_px, y_px + k * step, words, kind=kind, anchor=anchor) for k, words in enumerate(lines))
    )


def spread(
    wanted_px: Sequence[float], heights_px: Sequence[float], top_px: float, bottom_px: float
) -> list[float]:
    """Move stacked boxes apart, in order, so that none overlap; give the top of each.

    Each box wants to be centred at its ``wanted_px``; boxes are pushed down past the one above, then up
    from the bottom edge. Boxes that do not fit together run past the top.
    """
    tops: list[float] = []
    floor = top_px
    for wanted, height in zip(wanted_px, heights_px, strict=True):
        tops.append(max(floor, wanted - height / 2))
        floor = tops[-1] + height
    ceiling = bottom_px
    for k in range(len(tops) - 1, -1, -1):
        tops[k] = min(tops[k], ceiling - heights_px[k])
        ceiling = tops[k]
    return tops


def beside(labels: Sequence[Label], column: Column) -> Svg:
    """Write labels in a column beside a panel, each joined to its feature by a leader line."""
    ordered = sorted(labels, key=lambda label: label.y_px)
    blocks = [_block(label, column.room_px) for label in ordered]
    heights = [height for _, height in blocks]
    tops = spread([label.y_px for label in ordered], heights, column.top_px, column.bottom_px)
    drawn: list[Svg] = []
    for label, (lines, _), top in zip(ordered, blocks, tops, strict=True):
        y_px = top + SIZES_PX["label"]
        away = 5 if column.left_of_panel else -5
        bend = ((label.x_px, label.y_px), (column.edge_px, label.y_px), (column.text_px + away, y_px - 4.5))
        drawn.append(polyline(bend, "hair leader"))
        drawn.append(element("circle", cx=label.x_px, cy=label.y_px, r=2.2, class_="ff-ink"))
        drawn.extend(_written(lines, column, y_px))
    return group(*drawn, class_="ff-labels")


def _block(label: Label, room_px: float) -> tuple[list[tuple[str, str]], float]:
    """Wrap a label; give its lines with their kinds, and its height with the gap below."""
    lines = [("label", words) for words in wrapped(label.words, "label", room_px)]
    lines += [("note", words) for words in wrapped(label.note, "note", room_px)]
    return lines, sum(LINE_SHARE * SIZES_PX[kind] for kind, _ in lines) + 8


def _written(lines: Sequence[tuple[str, str]], column: Column, y_px: float) -> list[Svg]:
    drawn: list[Svg] = []
    anchor = "end" if column.left_of_panel else "start"
    for kind, words in lines:
        drawn.append(text(column.text_px, y_px, words, kind=kind, anchor=anchor))
        y_px += LINE_SHARE * SIZES_PX[kind]
    return drawn


NOT_CALIBRATED = "not calibrated: prior only"
INVENTED = "invented data"


def heading(title: str, *, invented: bool, calibrated: bool, on: Canvas) -> tuple[Svg, float]:
    """Write a picture's title and the tags it must carry; give them with the height they take."""
    tags = [words for words, shown in ((INVENTED, invented), (NOT_CALIBRATED, not calibrated)) if shown]
    tags_px = sum(_tag_width(words) + 8 for words in tags)
    beside_title = on.width_px > 600
    lines = wrapped(title, "title", on.room_px - (tags_px if beside_title else 0.0))
    drawn = [paragraph(on.margin_px, 26, lines, kind="title")]
    height_px = 26 + (len(lines) - 1) * LINE_SHARE * SIZES_PX["title"]
    x_px = on.width_px - on.margin_px - tags_px + 8 if beside_title else on.margin_px
    for words in tags:
        drawn.append(_tag(words, x_px, 21.0 if beside_title else height_px + 24))
        x_px += _tag_width(words) + 8
    return group(*drawn), height_px + (30 if tags and not beside_title else 0) + 12


def _tag_width(words: str) -> float:
    return width_px(words, "note") + 18


def _tag(words: str, x_px: float, y_px: float) -> Svg:
    """Write words in an outlined box."""
    box = rect(x_px, y_px - 12, _tag_width(words), 22, rx=4, class_="ff-tag")
    middle = x_px + _tag_width(words) / 2
    return group(box, text(middle, y_px + 3.5, words, kind="note strong", anchor="middle"))
