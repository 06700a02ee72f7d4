"""Set a report or a sheet as one self-contained HTML file: no script, nothing fetched from anywhere."""

from base64 import b64encode
from functools import cache
from typing import Final
from xml.etree import ElementTree

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from farface.kernel import Malformed
from farface.report.content import Chapter, ReportContent, SheetContent, Table
from farface.report.labels import INVENTED, NOT_CALIBRATED
from farface.report.look import FONT, colour_rules

STATUS_WORDS: Final = {"read": "read", "exact": "exact mathematics", "memory": "quoted from memory, not read"}
_SHORT: Final = 32
_PNG_START: Final = b"\x89PNG\r\n\x1a\n"
_ACTIVE_TAGS: Final = ("script", "foreignObject", "iframe", "image", "a", "animate", "set", "use")


def report_html(content: ReportContent) -> str:
    """Set a report as HTML; every word is escaped.

    Raises `Malformed` for a table row that does not fit its header, a picture that is neither SVG drawn here
    nor PNG, and SVG that holds anything active.
    """
    for chapter in content.chapters:
        _check_chapter(chapter)
    return page_environment().get_template("report.html.j2").render(page=content, **_given())


def sheet_html(content: SheetContent) -> str:
    """Set a sheet for the bench as HTML that prints on one page; raises as `report_html` does."""
    _check_table(content.cells)
    return page_environment().get_template("sheet.html.j2").render(page=content, **_given())


def _given() -> dict[str, object]:
    return {
        "colours": Markup(colour_rules(":root")),
        "font": Markup(FONT),
        "invented_words": INVENTED,
        "prior_words": NOT_CALIBRATED,
        "status_words": STATUS_WORDS,
    }


@cache
def page_environment() -> Environment:
    """Give the templates of pages, with every word escaped unless it is drawn here."""
    environment = Environment(
        loader=PackageLoader("farface.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["inline"] = inline
    environment.filters["png"] = png_address
    environment.filters["numeric"] = is_numeric
    return environment


def _check_chapter(chapter: Chapter) -> None:
    for table in chapter.tables:
        _check_table(table)
    for picture in chapter.pictures:
        if picture.svg is None and picture.png is None:
            raise Malformed(f'a picture in "{chapter.heading}" holds neither SVG nor PNG. Draw it first.')


def _check_table(table: Table) -> None:
    for row in table.rows:
        if len(row) != len(table.header):
            raise Malformed(f"a table row has {len(row)} cells, but its header {len(table.header)}: {row!r}.")


def inline(svg: str) -> Markup:
    """Let SVG into a page as it stands, after making sure that it holds nothing active or fetched."""
    try:
        root = ElementTree.fromstring(svg)
    except ElementTree.ParseError as error:
        raise Malformed(f"a picture is no well-formed SVG ({error}). Draw it again.") from error
    for node in root.iter():
        tag = node.tag.rpartition("}")[2]
        if tag in _ACTIVE_TAGS or any(_active(name, value) for name, value in node.attrib.items()):
            raise Malformed(
                f"a picture holds <{tag}> with something active or fetched; pages take drawings only."
            )
        if tag == "style" and (_fetches(node.text or "") or "@import" in (node.text or "")):
            raise Malformed("a picture's style fetches something; pages take drawings only.")
    return Markup(svg)


def _active(name: str, value: str) -> bool:
    """Say whether an attribute runs or fetches something; references inside the picture are fine."""
    plain = name.rpartition("}")[2].lower()
    return plain.startswith("on") or plain in ("href", "src", "style") or _fetches(value)


def _fetches(style: str) -> bool:
    """Say whether a style refers to anything but a part of the picture itself."""
    return "url(" in style.replace("url(#", "")


def png_address(png: bytes) -> str:
    """Write PNG bytes as an address that holds the picture itself."""
    if not png.startswith(_PNG_START):
        raise Malformed("a picture given as PNG is not one. Draw it again.")
    return f"data:image/png;base64,{b64encode(png).decode('ascii')}"


def is_numeric(cell: str) -> bool:
    """Say whether a cell starts with a number and is short, so that it is better not broken over lines."""
    return (
        len(cell) <= _SHORT
        and cell.lstrip("±+-− ").split(" ")[0].replace(".", "", 1).replace(",", "").rstrip("%").isdigit()
    )
