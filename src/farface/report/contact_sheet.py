"""Draw the contact sheet of a film: its biggest bubble frame by frame, and the spread of all its events."""

import io
import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from farface.footage.coordinates import pixel_of
from farface.footage.life import measure_life
from farface.footage.measures import flash_intervals_s, flash_rate_hz
from farface.materials.bubble_life import radius_share
from farface.records import Bubble, FilmReading

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

STRIP: Final = 8
INK: Final = "#2a2d34"
SOFT: Final = "#8b909a"
BATH: Final = "#3f7f93"
MARK: Final = "#e07b39"


def sheet_frames(reading: FilmReading) -> tuple[int, ...]:
    """Choose the numbers of the frames that the sheet shows: around the biggest bubble, or the first ones."""
    biggest = _biggest(reading)
    if biggest is None:
        return tuple(range(min(STRIP, reading.frames)))
    first, last = _frame_of(reading, biggest.times_s[0]), _frame_of(reading, biggest.times_s[-1])
    shown = np.linspace(max(0, first - 1), min(reading.frames - 1, last + 1), STRIP)
    return tuple(sorted({round(number) for number in shown.tolist()}))


def contact_sheet_svg(
    reading: FilmReading, sample_frames: Mapping[int, NDArray[np.uint8]], *, invented: bool
) -> str:
    """Draw the sheet as SVG; ``sample_frames`` are the frames of `sheet_frames`, each (row, column), uint8.

    Above, a strip around the biggest bubble with the fitted circles; below, that bubble's radius against
    time with Rayleigh's curve of its life, all bubbles' depths below the face, and the times between
    flashes. ``invented`` writes 'invented data' on it.
    """
    return _render(_sheet(reading, sample_frames, invented), "svg").decode()


def contact_sheet_png(
    reading: FilmReading, sample_frames: Mapping[int, NDArray[np.uint8]], *, invented: bool
) -> bytes:
    """Draw the sheet of `contact_sheet_svg` as PNG."""
    return _render(_sheet(reading, sample_frames, invented), "png")


def _render(figure: "Figure", kind: str) -> bytes:
    """Write a figure without a date or random marks, so that the same reading gives the same bytes."""
    import matplotlib

    target = io.BytesIO()
    with matplotlib.rc_context({"svg.hashsalt": "farface"}):
        figure.savefig(target, format=kind, dpi=120, metadata={"Date": None} if kind == "svg" else None)
    return target.getvalue()


def _sheet(reading: FilmReading, frames: Mapping[int, NDArray[np.uint8]], invented: bool) -> "Figure":
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(11.0, 6.2), layout="constrained")
    FigureCanvasAgg(figure)
    parts: Any = figure.subfigures(2, 1, height_ratios=[1.0, 1.7])
    above, below = parts
    _title(figure, reading, invented)
    _draw_strip(above, reading, frames)
    left, middle, right = below.subplots(1, 3)
    for axes in (left, middle, right):
        axes.spines[["top", "right"]].set_visible(False)
        axes.tick_params(colors=INK, labelsize=8)
    _draw_radius(left, reading)
    _draw_depths(middle, reading)
    _draw_intervals(right, reading)
    return figure


def _title(figure: "Figure", reading: FilmReading, invented: bool) -> None:
    """Head the sheet with what was read; mark it if the data are invented."""
    rate = flash_rate_hz(reading)
    counts = (
        f"{reading.frames} frames, {reading.duration_s * 1e3:.3g} ms at {reading.scale.frame_hz:g} frames/s; "
        f"{len(reading.bubbles)} bubbles; {len(reading.flashes)} flashes, {_plain(rate.value)} a second "
        f"(95 %: {_plain(rate.low)} to {_plain(rate.high)})"
    )
    if reading.stopped is not None:
        counts += f"\nread in part: {reading.stopped}"
    figure.suptitle(f"{reading.film}\n{counts}", x=0.01, ha="left", fontsize=10, color=INK)
    if invented:
        figure.text(
            0.99, 0.985, "invented data", ha="right", va="top", fontsize=12, color=MARK, weight="bold"
        )


def _draw_strip(figure: Any, reading: FilmReading, frames: Mapping[int, NDArray[np.uint8]]) -> None:
    """Draw frames around the biggest bubble side by side, its fitted circle and the face line on them."""
    biggest = _biggest(reading)
    if not frames:
        return
    pictures = figure.subplots(1, len(frames), squeeze=False)[0]
    for axes, (number, frame) in zip(pictures, sorted(frames.items()), strict=True):
        axes.imshow(frame, cmap="gray", vmin=0, vmax=255, interpolation="nearest")
        columns = np.array([0.0, frame.shape[1] - 1.0])
        face = reading.scale.face_row_px + reading.scale.face_slope * columns
        axes.plot(columns, face, color=BATH, linewidth=0.9, linestyle=(0, (4, 3)))
        axes.set_xticks([])
        axes.set_yticks([])
        axes.spines[:].set_visible(False)
        if biggest is not None:
            _mark_bubble(axes, reading, biggest, number, frame.shape)
    pictures[0].set_ylabel("biggest bubble" if biggest is not None else "first frames", fontsize=8, color=INK)


def _mark_bubble(
    axes: "Axes", reading: FilmReading, bubble: Bubble, number: int, shape: tuple[int, ...]
) -> None:
    """Crop a picture to a bubble's surroundings, draw the circle read in this frame, and tell the time."""
    from matplotlib.patches import Circle

    column_px, row_px = pixel_of(reading.scale, along_m=bubble.along_m, below_m=bubble.below_m)
    reach_px = max(12.0, 1.6 * bubble.radius_max_m / reading.scale.pixel_m)
    axes.set_xlim(max(-0.5, column_px - reach_px), min(shape[1] - 0.5, column_px + reach_px))
    axes.set_ylim(min(shape[0] - 0.5, row_px + reach_px), max(-0.5, row_px - reach_px))
    since_us = 1e6 * (number / reading.scale.frame_hz + 0.5 * reading.scale.exposure_s - bubble.first_s)
    axes.set_xlabel(f"{since_us:+.0f} us", fontsize=8, color=INK)
    for time_s, radius_m in zip(bubble.times_s, bubble.radii_m, strict=True):
        if _frame_of(reading, time_s) == number:
            radius_px = radius_m / reading.scale.pixel_m
            axes.add_patch(Circle((column_px, row_px), radius_px, fill=False, color=MARK, linewidth=1.2))


def _draw_radius(axes: "Axes", reading: FilmReading) -> None:
    """Draw the biggest bubble's radius against time, with Rayleigh's curve of the same life and size."""
    axes.set_title("Radius of the biggest bubble", fontsize=9, color=INK, loc="left")
    axes.set_xlabel("time since first seen, us", fontsize=8)
    axes.set_ylabel("radius, um", fontsize=8)
    biggest = _biggest(reading)
    if biggest is None:
        _say_none(axes, "no bubble was read")
        return
    times_s, radii_m = np.array(biggest.times_s), np.array(biggest.radii_m)
    life = measure_life(times_s, radii_m, frame_s=1.0 / reading.scale.frame_hz)
    phase = np.linspace(0.0, 1.0, 200)
    curve_s = life.opened_s + phase * life.life_s - biggest.first_s
    axes.plot(
        1e6 * curve_s,
        1e6 * biggest.radius_max_m * radius_share(phase),
        color=BATH,
        linewidth=1.2,
        label=f"Rayleigh, life {1e6 * biggest.life_s:.3g} us",
    )
    axes.plot(1e6 * (times_s - biggest.first_s), 1e6 * radii_m, "o", color=MARK, markersize=4, label="read")
    axes.set_ylim(bottom=0.0)
    axes.legend(frameon=False, fontsize=8, loc="lower center")


def _draw_depths(axes: "Axes", reading: FilmReading) -> None:
    """Draw how deep below the face the bubbles' centres lie, depth downwards as in the film."""
    axes.set_title("Depth of bubbles below the face", fontsize=9, color=INK, loc="left")
    axes.set_xlabel("bubbles", fontsize=8)
    axes.set_ylabel("below the face, um", fontsize=8)
    depths_um = np.array([1e6 * bubble.below_m for bubble in reading.bubbles])
    if depths_um.size == 0:
        _say_none(axes, "no bubble was read")
        return
    # Bubbles all at one depth differ by less than can be drawn: half a pixel to each side.
    half_um = 0.5e6 * reading.scale.pixel_m
    seen_um = (float(depths_um.min()) - half_um, float(depths_um.max()) + half_um)
    counts, edges = np.histogram(depths_um, bins=_bins(depths_um), range=seen_um)
    axes.barh(edges[:-1], counts, height=np.diff(edges), align="edge", color=BATH, edgecolor="white")
    axes.set_xlim(right=1.25 * axes.get_xlim()[1])
    axes.axhline(0.0, color=INK, linewidth=1.0)
    axes.annotate(
        "far face",
        (1.0, 0.0),
        xycoords=("axes fraction", "data"),
        xytext=(0, 3),
        textcoords="offset points",
        fontsize=8,
        ha="right",
        va="bottom",
    )
    axes.locator_params(axis="x", integer=True)
    axes.set_ylim(
        max(depths_um.max() * 1.08, 1.0), min(depths_um.min(), 0.0) - 0.08 * max(depths_um.max(), 1.0)
    )


def _draw_intervals(axes: "Axes", reading: FilmReading) -> None:
    """Draw the times between successive flashes."""
    axes.set_title("Time between flashes", fontsize=9, color=INK, loc="left")
    axes.set_xlabel("time to the next flash, us", fontsize=8)
    axes.set_ylabel("times seen", fontsize=8)
    intervals_us = 1e6 * flash_intervals_s(reading)
    if intervals_us.size == 0:
        _say_none(axes, "fewer than two flashes were read")
        return
    # Flashes as regular as a clock have all the same interval, but for rounding: half a frame to each side.
    half_us = 0.5e6 / reading.scale.frame_hz
    seen_us = (float(intervals_us.min()) - half_us, float(intervals_us.max()) + half_us)
    axes.hist(intervals_us, bins=_bins(intervals_us), range=seen_us, color=BATH, edgecolor="white")
    axes.locator_params(axis="y", integer=True)
    axes.axvline(float(np.median(intervals_us)), color=MARK, linewidth=1.2)
    axes.annotate(
        f"median {_plain(float(np.median(intervals_us)))} us",
        (float(np.median(intervals_us)), 0.98),
        xycoords=("data", "axes fraction"),
        xytext=(4, 0),
        textcoords="offset points",
        fontsize=8,
        va="top",
    )


def _plain(number: float) -> str:
    """Write a rate to three digits without an exponent."""
    return f"{float(f'{number:.3g}'):g}" if number < 1e6 else f"{number:.3g}"


def _bins(values: NDArray[np.float64]) -> int:
    """Choose a number of bins: about the square root of how many values, 5 to 30."""
    return int(min(30, max(5, round(math.sqrt(values.size)))))


def _say_none(axes: "Axes", sentence: str) -> None:
    axes.text(0.5, 0.5, sentence, transform=axes.transAxes, ha="center", va="center", fontsize=9, color=SOFT)
    axes.set_xticks([])
    axes.set_yticks([])


def _biggest(reading: FilmReading) -> Bubble | None:
    return max(reading.bubbles, key=lambda bubble: bubble.radius_max_m, default=None)


def _frame_of(reading: FilmReading, time_s: float) -> int:
    """Find the frame whose exposure has its middle at a time."""
    return round((time_s - 0.5 * reading.scale.exposure_s) * reading.scale.frame_hz)
