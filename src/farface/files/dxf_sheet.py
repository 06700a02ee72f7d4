"""Start a DXF drawing in millimetres with named layers, and write it out."""

import io
from collections.abc import Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ezdxf.document import Drawing


def new_sheet(layers: Mapping[str, int]) -> "Drawing":
    """Start an empty drawing; ``layers`` maps names to colour numbers of the format."""
    import ezdxf  # 0.3 s to import, and needed by few
    from ezdxf import units

    document = ezdxf.new("R2010")  # type: ignore[attr-defined]
    document.units = units.MM
    for name, colour in layers.items():
        document.layers.add(name, color=colour)
    return document


def sheet_bytes(document: "Drawing") -> bytes:
    """Write a drawing as text."""
    text = io.StringIO()
    document.write(text)
    return text.getvalue().encode("utf-8")


def frame(
    middle_mm: tuple[float, float], *, half_wide_mm: float, half_tall_mm: float
) -> list[tuple[float, float]]:
    """List the corners of a rectangle, round from the lower left."""
    x_mm, y_mm = middle_mm
    signs = ((-1, -1), (1, -1), (1, 1), (-1, 1))
    return [(x_mm + i * half_wide_mm, y_mm + j * half_tall_mm) for i, j in signs]
