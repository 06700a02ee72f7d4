"""Write SVG with every text and attribute escaped, so that no name a person types can become markup."""

import math
import re
from collections.abc import Iterable
from typing import Final, NewType
from xml.sax.saxutils import escape, quoteattr
from zlib import crc32

from farface.report.look import picture_rules

Svg = NewType("Svg", str)
Point = tuple[float, float]

_LOCAL: Final = "ff-local-"
_LOOK: Final = re.compile(r"<style>[^<]*</style>")
# Characters that XML 1.0 forbids even when escaped.
_FORBIDDEN = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def plain(words: str) -> Svg:
    """Write words as text that no reader takes for markup."""
    return Svg(escape(_FORBIDDEN.sub("�", words)))


def number(value: float) -> str:
    """Write a coordinate to a hundredth of a pixel; a coordinate that is not finite is a bug."""
    if not math.isfinite(value):
        raise ValueError(f"coordinate {value} is not finite")
    written = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if written == "-0" else written


def element(tag: str, *inside: Svg, **attributes: str | float | None) -> Svg:
    """Write one element; ``class_`` stands for class, an underscore for a hyphen, None leaves out."""
    written = []
    for name, value in attributes.items():
        if value is None:
            continue
        key = name.rstrip("_").replace("_", "-")
        words = value if isinstance(value, str) else number(value)
        written.append(f" {key}={quoteattr(_FORBIDDEN.sub('�', words))}")
    start = f"<{tag}{''.join(written)}"
    return Svg(f"{start}>{''.join(inside)}</{tag}>" if inside else f"{start}/>")


def group(*inside: Svg, **attributes: str | float | None) -> Svg:
    """Write a group of elements."""
    return element("g", *inside, **attributes)


def text(
    x_px: float, y_px: float, words: str, *, kind: str = "label", anchor: str = "start", turned: bool = False
) -> Svg:
    """Write one line of text with its baseline at (x, y); ``kind`` names classes without their ``ff-``."""
    classes = " ".join(f"ff-{name}" for name in kind.split())
    turn = f"rotate(-90 {number(x_px)} {number(y_px)})" if turned else None
    at = None if anchor == "start" else anchor
    return element("text", plain(words), x=x_px, y=y_px, class_=classes, text_anchor=at, transform=turn)


def rect(left_px: float, top_px: float, width_px: float, height_px: float, **attributes: str | float) -> Svg:
    """Write a rectangle; a negative size, which an edge past a panel may give, is drawn as nothing."""
    size = {"width": max(0.0, width_px), "height": max(0.0, height_px)}
    return element("rect", x=left_px, y=top_px, **size, **attributes)


def line(start: Point, end: Point, kind: str = "hair") -> Svg:
    """Write a straight line."""
    return polyline((start, end), kind)


def polyline(points: Iterable[Point], kind: str = "hair", *, closed: bool = False) -> Svg:
    """Write a line through points, or the shape they enclose."""
    classes = " ".join(f"ff-{name}" for name in kind.split())
    return element("path", d=way(points, closed=closed), class_=classes)


def way(points: Iterable[Point], *, closed: bool = False) -> str:
    """Write path data through points."""
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points) + ("Z" if closed else "")


def local(name: str) -> str:
    """Name something inside one picture; `document` makes the name unique among pictures on a page."""
    return _LOCAL + name


def refer(name: str) -> str:
    """Refer to a gradient, pattern or clip of the same picture."""
    return f"url(#{_LOCAL}{name})"


def clip(name: str, left_px: float, top_px: float, width_px: float, height_px: float) -> Svg:
    """Define a rectangular clip."""
    return element("clipPath", rect(left_px, top_px, width_px, height_px), id=local(name))


def document(*, title: str, says: str, width_px: float, height_px: float, body: Iterable[Svg]) -> str:
    """Write a whole picture with its title, a description that says what to conclude, and its look."""
    drawn = element(
        "svg",
        element("title", plain(title), id=local("title")),
        element("desc", plain(says), id=local("desc")),
        element("style", plain(picture_rules())),
        rect(0, 0, width_px, height_px, class_="ff-paper"),
        *body,
        xmlns="http://www.w3.org/2000/svg",
        class_="ff-picture",
        viewBox=f"0 0 {number(width_px)} {number(height_px)}",
        width=width_px,
        height=height_px,
        preserveAspectRatio="xMinYMin meet",
        role="img",
        aria_labelledby=local("title"),
        aria_describedby=local("desc"),
    )
    return drawn.replace(_LOCAL, f"ff-{crc32(drawn.encode()):08x}-")


def without_look(drawn: str) -> str:
    """Take a picture's own stylesheet out, for pages that serve `picture_rules` once as a file."""
    return _LOOK.sub("", drawn, count=1)
