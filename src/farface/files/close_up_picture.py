"""Draw a close-up of a part as one PNG: depth with its band, heat met, margin from running away, and time."""

import io

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from farface.files.depth_map import INVENTED
from farface.part.close_up import RIM_CELLS, CloseUp


def close_up_png(seen: CloseUp, *, title: str, invented: bool) -> bytes:
    """Draw five maps with their scales, and a cut through the middle with the band of depth."""
    figure = Figure(figsize=(11.0, 7.2), dpi=110, layout="constrained")
    axes = figure.subplots(2, 3)
    figure.suptitle(title + (f" ({INVENTED})" if invented else ""), x=0.01, ha="left")
    _map(axes[0, 0], 1e6 * seen.median_m, seen, "depth, median of the draws", "um")
    _map(axes[0, 1], 1e6 * (seen.high_m - seen.low_m), seen, "width of the 90 % band of depth", "um")
    _cut(axes[0, 2], seen)
    _map(axes[1, 0], seen.rise_k, seen, "most heat met on the glass", "K")
    _map(axes[1, 1], np.clip(seen.margin_low, 0.0, 5.0), seen, "margin from running away",
         "95 % of the draws exceed (cut off at 5)")  # fmt: skip
    _map(axes[1, 2], seen.last_s / 60.0, seen, "last fired", "min after the start")
    file = io.BytesIO()
    figure.savefig(file, format="png")
    return file.getvalue()


def _map(axes: Axes, values: NDArray[np.floating], seen: CloseUp, title: str, unit: str) -> None:
    left, right, low, high = _extent_mm(seen)
    # One value everywhere would leave the scale without a span.
    image = axes.imshow(values, origin="lower", cmap="cividis", extent=(left, right, low, high))
    colours = axes.figure.colorbar(image, ax=axes, label=unit)
    colours.ax.ticklabel_format(useOffset=False)
    axes.set_title(title, loc="left", fontsize=9)
    axes.set(xlabel="x, mm", ylabel="y, mm")


def _cut(axes: Axes, seen: CloseUp) -> None:
    left, right, low, high = _extent_mm(seen)
    row = seen.median_m.shape[0] // 2
    x_mm = np.linspace(left, right, seen.median_m.shape[1])
    axes.fill_between(x_mm, 1e6 * seen.low_m[row], 1e6 * seen.high_m[row], color="#c8ae5a", label="90 % band")
    axes.plot(x_mm, 1e6 * seen.median_m[row], color="#00306f", label="median")
    axes.invert_yaxis()
    axes.set_title(f"cut at y = {0.5 * (low + high):.3f} mm", loc="left", fontsize=9)
    axes.set(xlabel="x, mm", ylabel="depth, um")
    axes.legend(fontsize=8)


def _extent_mm(seen: CloseUp) -> tuple[float, float, float, float]:
    frame = seen.frame
    rim_m = (RIM_CELLS - 0.5) * frame.cell_m
    span_m = (frame.columns - 2 * RIM_CELLS) * frame.cell_m
    left_mm, low_mm = 1e3 * (frame.left_m + rim_m), 1e3 * (frame.bottom_m + rim_m)
    return left_mm, left_mm + 1e3 * span_m, low_mm, low_mm + 1e3 * span_m
