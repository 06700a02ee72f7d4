"""Draw the strokes of a cleared plan as DXF, in millimetres from the middle of the plate.

Kinds of passes stand on layers of their own, POCKET, LINE and CUT, beside the plate's edge (PLATE) and what
is only said (WORDS). The format has no place for a setting: passes.csv and the programs carry it.
"""

from typing import Final

from farface.files.dxf_sheet import frame, new_sheet, sheet_bytes
from farface.files.plan_svg import strokes
from farface.part.layouts import distinct_layouts
from farface.safety.gate import Cleared

_COLOURS: Final = {"PLATE": 8, "POCKET": 5, "LINE": 7, "CUT": 30, "WORDS": 8}


def plan_dxf(cleared: Cleared) -> bytes:
    """Write each layout once, its rows and paths as polylines; a lone point stays a point."""
    document = new_sheet(_COLOURS)
    space = document.modelspace()
    plate, draft = cleared.rig.plate, cleared.draft
    x_mm, y_mm = 500.0 * plate.width_m, 500.0 * plate.height_m
    edge = frame((0.0, 0.0), half_wide_mm=x_mm, half_tall_mm=y_mm)
    space.add_lwpolyline(edge, close=True, dxfattribs={"layer": "PLATE"})
    for layout in distinct_layouts(draft.passes):
        on = {"layer": layout.passes[0].kind.upper()}
        for stroke in strokes(layout.points_m, pitch_m=layout.setting.pitch_m):
            corners = (1e3 * stroke).tolist()
            if corners[0] == corners[-1] and len(corners) == 2:
                space.add_point(corners[0], dxfattribs=on)
            else:
                space.add_lwpolyline(corners, dxfattribs=on)
    words = f"{draft.name}, invented data" if draft.invented else draft.name
    space.add_text(words, height=2.0, dxfattribs={"layer": "WORDS", "insert": (-x_mm, -y_mm - 3.0)})
    return sheet_bytes(document)
