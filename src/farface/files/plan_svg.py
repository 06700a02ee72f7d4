"""Draw the strokes of a cleared plan as SVG, in millimetres, the page as large as the plate."""

from collections.abc import Iterator
from typing import Final
from xml.sax.saxutils import escape

import numpy as np
from numpy.typing import NDArray

from farface.part.duration import is_jump
from farface.part.layouts import Layout, distinct_layouts
from farface.records import PassKind
from farface.safety.gate import Cleared

# Dark to light along an even scale, so that kinds differ in grey as well; titles name them.
_COLOURS: Final[dict[PassKind, str]] = {"pocket": "#00306f", "line": "#7b7b78", "cut": "#c8ae5a"}


def plan_svg(cleared: Cleared) -> bytes:
    """Draw each layout once: its rows and paths as straight strokes, with its passes and setting as data."""
    plate, draft = cleared.rig.plate, cleared.draft
    width, height = f"{1e3 * plate.width_m:g}", f"{1e3 * plate.height_m:g}"
    middle = f"translate({500 * plate.width_m:g} {500 * plate.height_m:g}) scale(1 -1)"
    lines = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm"'
        f' viewBox="0 0 {width} {height}">',
        f"<title>{escape(draft.name)}</title>",
        # A stroke is a path of the beam, not a width: it stays thin and visible at every size of the picture.
        "<style>polyline { vector-effect: non-scaling-stroke }</style>",
        '<text x="1" y="3.5" font-size="2.5">invented data</text>' if draft.invented else "",
        f'<g fill="none" stroke-width="0.7" stroke-linecap="round" transform="{middle}">',
        *(line for layout in distinct_layouts(draft.passes) for line in _group(layout)),
        "</g>",
        "</svg>",
    )
    return "\n".join(filter(None, lines)).encode() + b"\n"


def _group(layout: Layout) -> Iterator[str]:
    first, setting = layout.passes[0], layout.setting
    passes = " ".join(str(one.number) for one in layout.passes)
    yield (
        f'<g stroke="{_COLOURS[first.kind]}" data-passes="{passes}" data-rate-khz="{setting.rate_hz / 1e3:g}"'
        f' data-pulse-energy-uj="{setting.pulse_energy_j * 1e6:g}" data-pitch-um="{setting.pitch_m * 1e6:g}"'
        f' data-pulses-per-point="{setting.pulses_per_point}">'
    )
    yield f"<title>{escape(first.shape)}, {first.kind}, layout {layout.number}, passes {passes}</title>"
    for stroke in strokes(layout.points_m, pitch_m=setting.pitch_m):
        corners = " ".join(f"{x:.4f},{y:.4f}" for x, y in (1e3 * stroke).tolist())
        yield f'<polyline points="{corners}"/>'
    yield "</g>"


def strokes(points_m: NDArray[np.float64], *, pitch_m: float) -> Iterator[NDArray[np.float64]]:
    """Split points where the beam jumps, and keep of every run its ends and the points where it turns.

    A run of one point becomes a stroke from the point to itself, which round ends show as a dot.
    """
    for run in np.split(points_m, 1 + np.flatnonzero(is_jump(points_m, pitch_m=pitch_m))):
        before, after = np.diff(run[:-1], axis=0), np.diff(run[1:], axis=0)
        turn = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
        along = np.sum(before * after, axis=1)
        turns = (np.abs(turn) > 1e-6 * pitch_m**2) | (along < 0.0)
        yield run[np.concatenate(([0], 1 + np.flatnonzero(turns), [len(run) - 1]))]
