"""Refuse a drawing that could harm, mislead or stall its reader, before the SVG library sees it.

The library resolves entities, drops without a word what it cannot read, and expands ``use`` as often as it
is told. So the text is walked once with a plain XML parser, and anything outside a small, harmless part of
SVG is named and refused.
"""

import re
from collections.abc import Iterator
from typing import Final
from xml.etree.ElementTree import Element, TreeBuilder
from xml.parsers import expat

from farface.files.path_data import path_fault
from farface.kernel import Malformed, OutOfRange

MOST_BYTES: Final = 20_000_000
DEEPEST: Final = 100

_SVG: Final = "{http://www.w3.org/2000/svg}"
_SHAPES: Final = {"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"}
_ALLOWED: Final = _SHAPES | {
    *("svg", "g", "defs", "use", "title", "desc", "metadata", "style"),
    *("linearGradient", "radialGradient", "stop", "clipPath", "pattern"),
}
# Elements that people draw with but that have no outline here, and what to do about them.
_ADVICE: Final = {
    "text": "Convert text to paths in the drawing program",
    "image": "Trace the picture to paths",
    "symbol": "Ungroup symbols to plain shapes",
}
_LENGTHS: Final = {"x", "y", "width", "height", "r", "rx", "ry", "cx", "cy", "x1", "y1", "x2", "y2"}
_LENGTH: Final = re.compile(r"\s*[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?\s*(px|mm|cm|in|pt|pc)?\s*", re.IGNORECASE)
_POINTS: Final = re.compile(r"[\s,\d.eE+-]*")
_TRANSFORM: Final = re.compile(r"(matrix|translate|scale|rotate|skewX|skewY)\s*\([\s,\d.eE+-]*\)")
# What a style may say about colours and strokes is read; what it may say about geometry is not.
_STYLED: Final = re.compile(
    r"(?<![\w-])(transform|clip-path|mask|d|[xy]|c[xy]|r[xy]?|width|height)\s*:(?!\s*none)"
)
_OUTSIDE_URL: Final = re.compile(r"url\(\s*['\"]?(?!\s*#)|@import", re.IGNORECASE)


def check_drawing(text: bytes) -> None:
    """Raise `Malformed` or `OutOfRange`, one sentence each, unless the text is a harmless SVG drawing."""
    if len(text) > MOST_BYTES:
        raise OutOfRange(
            f"the drawing has {len(text) / 1e6:.3g} MB; farface reads up to {MOST_BYTES / 1e6:.0f} MB."
            " Simplify its paths."
        )
    root = _parse(text)
    if root.tag != f"{_SVG}svg":
        raise Malformed("the file is no SVG drawing: its outermost element is not svg. Save it as SVG.")
    for element in root.iter():
        if element is not root and element.tag == root.tag:
            raise Malformed("the drawing holds a drawing inside it. Ungroup it to plain shapes.")
        _check_element(element)
    _check_expansion(root)


def _parse(text: bytes) -> Element:
    builder = TreeBuilder()
    parser = expat.ParserCreate(namespace_separator="}")
    depth = 0

    def start(tag: str, attributes: dict[str, str]) -> None:
        nonlocal depth
        depth += 1
        if depth > DEEPEST:
            raise OutOfRange(f"the drawing nests deeper than {DEEPEST} elements. Ungroup it.")
        builder.start(_braced(tag), {_braced(name): value for name, value in attributes.items()})

    def end(tag: str) -> None:
        nonlocal depth
        depth -= 1
        builder.end(_braced(tag))

    parser.StartElementHandler, parser.EndElementHandler = start, end
    parser.CharacterDataHandler = builder.data
    parser.StartDoctypeDeclHandler = _refuse_doctype
    parser.ProcessingInstructionHandler = _refuse_instruction
    try:
        parser.Parse(text, True)
    except (expat.ExpatError, ValueError, LookupError) as error:
        raise Malformed(f"the drawing is no well-formed XML: {error}. Save it again as plain SVG.") from error
    return builder.close()


def _refuse_doctype(*_: object) -> None:
    raise Malformed(
        "the drawing declares a document type, which can hide entities and outside files; farface reads none."
        " Save it as plain SVG, or delete its DOCTYPE line."
    )


def _refuse_instruction(target: str, _data: str) -> None:
    raise Malformed(f'the drawing holds a processing instruction "{target}". Save it as plain SVG.')


def _braced(name: str) -> str:
    return "{" + name if "}" in name else name


def _check_element(element: Element) -> None:
    if element.tag.startswith("{") and not element.tag.startswith(_SVG):
        return  # a drawing program's own notes
    tag = element.tag.removeprefix(_SVG)
    if tag not in _ALLOWED:
        advice = _ADVICE.get(tag, "Convert it to plain paths, or delete it")
        raise Malformed(f"the drawing holds {_named(element)}, which farface does not etch. {advice}.")
    for name, value in element.attrib.items():
        if name.rpartition("}")[2] == "href" and not value.startswith("#"):
            raise Malformed(
                f"{_named(element)} refers to something outside the drawing. Embed it as plain paths,"
                " or delete it."
            )
        if _OUTSIDE_URL.search(value):
            raise Malformed(
                f"{_named(element)} refers to something outside the drawing. Delete that reference."
            )
    if tag == "style" and _OUTSIDE_URL.search(element.text or ""):
        raise Malformed("the drawing's style refers to something outside it. Delete that reference.")
    for complaint in _unreadable(tag, element):
        raise Malformed(f"{_named(element)} {complaint}.")


def _unreadable(tag: str, element: Element) -> Iterator[str]:
    """Yield what the SVG library would drop or guess at without a word."""
    if tag in _SHAPES | {"use"} or (tag == "svg" and element.get("viewBox") is None):
        for name in _LENGTHS.intersection(element.keys()):
            if not _LENGTH.fullmatch(element.get(name, "")):
                yield f'has {name}="{element.get(name)}". Write a number, with px, mm, cm, in, pt, pc or none'
    if not _POINTS.fullmatch(element.get("points", "")):
        yield "has points that are no numbers. Draw it again"
    if fault := path_fault(element.get("d", "")):
        yield f"cannot be read: {fault}. Draw it again"
    if _TRANSFORM.sub("", element.get("transform", "")).strip(" ,\t\r\n"):
        yield f'has transform="{element.get("transform")}". Apply the transform in the drawing program'
    style = element.get("style", "") if tag != "style" else element.text or ""
    if found := _STYLED.search(style):
        yield f"sets its {found[1]} in a style. Write it as an attribute, or apply it in the drawing program"
    if {element.get("clip-path", "none"), element.get("mask", "none")} != {"none"}:
        yield "is clipped or masked. Cut the shapes themselves in the drawing program"


def _check_expansion(root: Element) -> None:
    """Bound the size and depth that the drawing has once every ``use`` is replaced by what it refers to."""
    targets = {element.get("id"): element for element in root.iter() if element.get("id")}
    measured: dict[Element, tuple[int, int]] = {}

    def measure(element: Element, depth: int) -> tuple[int, int]:
        if element not in measured:
            if depth > DEEPEST:
                raise OutOfRange(f"the drawing nests uses deeper than {DEEPEST}. Ungroup it.")
            inner = [measure(child, depth + 1) for child in element]
            if element.tag == f"{_SVG}use":
                name = next((value for key, value in element.attrib.items() if key.endswith("href")), "")[1:]
                if name not in targets:
                    raise Malformed(
                        f'{_named(element)} refers to "{name}", which is not there. Draw it again.'
                    )
                inner.append(measure(targets[name], depth + 1))
            own = sum(map(len, element.attrib.values())) + 1
            measured[element] = (
                own + sum(size for size, _ in inner),
                1 + max((d for _, d in inner), default=0),
            )
        size, height = measured[element]
        if depth + height > DEEPEST + 1 or size > MOST_BYTES:
            raise OutOfRange("the drawing repeats its parts until it is too large to read. Ungroup it.")
        return size, height

    measure(root, 0)


def _named(element: Element) -> str:
    tag = element.tag.removeprefix(_SVG)
    return f'the element "{element.get("id")}" ({tag})' if element.get("id") else f"an element {tag}"
