"""Tell again what a record of the journal told: its sentences, tables, pictures and data."""

from collections.abc import Mapping
from typing import Any

from farface.app.answer import Answer
from farface.journal import Journal, Record
from farface.kernel import Missing
from farface.report.content import Picture, Table


def told_again(journal: Journal, record: Record) -> Answer:
    """Give a record's answer as it was told; a picture whose file is gone is left out."""
    body = record.body
    pictures = (kept_picture(journal, kept) for kept in body.get("pictures", ()))
    return Answer(
        title=record.title,
        sentences=tuple(body.get("sentences", ())),
        tables=tuple(kept_table(told) for told in body.get("tables", ())),
        pictures=tuple(picture for picture in pictures if picture is not None),
        data=body.get("data", {}),
    )


def kept_table(told: Mapping[str, Any]) -> Table:
    """Read a table as a record holds it."""
    rows = tuple(tuple(row) for row in told["rows"])
    return Table(caption=told["caption"], header=tuple(told["header"]), rows=rows)


def kept_picture(journal: Journal, kept: Mapping[str, Any]) -> Picture | None:
    """Find a record's picture; None when its file is gone."""

    def content(part: str) -> bytes | None:
        return None if kept[part] is None else journal.content(kept[part])

    try:
        svg, narrow, png = content("svg"), content("narrow_svg"), content("png")
    except Missing:
        return None
    return Picture(
        caption=kept["caption"], alt=kept["alt"] or "", png=png,
        svg=None if svg is None else svg.decode(), narrow_svg=None if narrow is None else narrow.decode(),
    )  # fmt: skip
