"""Go through a DXF drawing's model space and the blocks it inserts, and place every outline on the plate."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from farface.files.dxf_curves import steps_m
from farface.files.dxf_entities import advice, curves_of
from farface.files.outline import Outline, trimmed
from farface.kernel import FarfaceError, Malformed, OutOfRange

MOST_VERTICES: Final = 1_000_000
MOST_ENTITIES: Final = 100_000
DEEPEST: Final = 30

_Matrix = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Walk:
    """Go through a drawing, counting what has no outline and naming the drawings that it refers to."""

    document: Any
    left_out: Counter[str] = field(default_factory=Counter)
    outside: set[str] = field(default_factory=set)
    done: Counter[str] = field(default_factory=Counter)

    def outlines(self, *, unit_m: float) -> Iterator[tuple[str, Outline]]:
        """Yield the layer and the outline of every visible entity; raises `Malformed` or `OutOfRange`."""
        to_plate = np.vstack((np.eye(3) * unit_m, np.zeros(3)))
        yield from self._visit(self.document.modelspace(), to_plate, "0", 0)

    def sentences(self) -> Iterator[str]:
        """Say what was left out."""
        for kind, count in sorted(self.left_out.items()):
            hint = f" If it matters: {advice(kind)}." if advice(kind) else ""
            yield f"{count} {kind} left out: it has no outline to etch.{hint}"
        for name in sorted(self.outside):
            yield f'"{name}" is another drawing and was left out. Bind it into this one if it matters.'

    def _visit(
        self, entities: Iterable[Any], to_plate: _Matrix, around: str, depth: int
    ) -> Iterator[tuple[str, Outline]]:
        if depth > DEEPEST:
            raise OutOfRange(f"the drawing nests blocks deeper than {DEEPEST}. Explode them.")
        for entity in entities:
            self._count("entities", 1, MOST_ENTITIES)
            # What lies on layer 0 of a block takes the layer of the place where the block is inserted.
            own = str(_said(entity, "layer", "0"))
            layer = around if own == "0" else own
            if _said(entity, "invisible", 0) or self._hidden(layer):
                continue
            if entity.dxftype() == "INSERT":
                yield from self._inserted(entity, to_plate, layer, depth)
                continue
            outline = self._outline(entity, to_plate)
            if outline is not None and len(outline.vertices_m) > 1:
                yield layer, outline

    def _outline(self, entity: Any, to_plate: _Matrix) -> Outline | None:
        curves = curves_of(entity)
        if curves is None:
            self.left_out[entity.dxftype()[:60]] += 1
            return None
        runs = [steps_m(curve, to_plate) for curve in curves]
        if not sum(map(len, runs)):
            return None
        # Each curve of an entity begins where the one before it ended.
        vertices_m = np.vstack([runs[0], *(run[1:] for run in runs[1:])])
        self._count("vertices", len(vertices_m), MOST_VERTICES)
        return trimmed(vertices_m, closed=False)

    def _inserted(
        self, insert: Any, to_plate: _Matrix, layer: str, depth: int
    ) -> Iterator[tuple[str, Outline]]:
        name = str(insert.dxf.get("name", ""))
        block = self.document.blocks.get(name)
        if block is None:
            raise Malformed(f'the drawing inserts a block "{name[:60]}" that is not there. Draw it again.')
        if insert.is_xref():
            self.outside.add(name[:60])
            return
        if _is_clipped(insert):
            raise Malformed(f'the drawing clips the block "{name[:60]}". Explode it and trim its outlines.')
        self.left_out.update("ATTRIB" for _ in insert.attribs)
        for placed in _placings(insert):
            self._count("entities", 1, MOST_ENTITIES)
            yield from self._visit(block, placed @ to_plate, layer, depth + 1)

    def _hidden(self, layer: str) -> bool:
        if layer not in self.document.layers:
            return False
        entry = self.document.layers.get(layer)
        return bool(entry.is_off() or entry.is_frozen())

    def _count(self, what: str, more: int, most: int) -> None:
        self.done[what] += more
        if self.done[what] > most:
            raise OutOfRange(f"the drawing has more than {most:.0e} {what}. Simplify it.")


def _said(entity: Any, name: str, default: object) -> object:
    """Return what an entity says, or the default also where its kind cannot say anything of the sort."""
    return entity.dxf.get(name, default) if entity.dxf.is_supported(name) else default


def _is_clipped(insert: Any) -> bool:
    """Tell whether only a part of an inserted block is meant to show."""
    from ezdxf.xclip import XClip

    return XClip(insert).is_clipping_enabled


def _placings(insert: Any) -> Iterator[_Matrix]:
    """Yield the matrix, shape (4, 4), of every place of an inserted block, for rows (x, y, z, 1)."""
    from ezdxf.math import Vec3

    try:
        matrix = np.array(list(insert.matrix44()), dtype=np.float64).reshape(4, 4)
        dxf, system = insert.dxf, insert.ocs()
        for row in range(max(1, dxf.row_count)):
            for column in range(max(1, dxf.column_count)):
                step = Vec3(column * dxf.column_spacing, row * dxf.row_spacing).rotate_deg(dxf.rotation)
                moved = matrix.copy()
                moved[3, :3] += system.to_wcs(step).xyz
                yield moved
    except FarfaceError:
        raise
    except Exception as error:  # the library computes on what it read, and lets any kind through
        raise Malformed("the drawing inserts a block in a way that cannot be read. Explode it.") from error
