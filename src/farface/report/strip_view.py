"""Hold what the strip shows: one place, pulse after pulse, along one time axis."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.kernel import Missing, OutOfRange
from farface.records import Known

Times = NDArray[np.float64]

# Two events closer than this are the same event: a pulse and the cavity it opens.
SAME_EVENT_S: Final = 20e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class CavitySpan:
    """Hold when a cavity opened and closed, and its largest radius."""

    open_s: float
    close_s: float
    radius_max_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StripView:
    """Hold one strip: times, shape (n,); each trace as long as its times, removal as long as the pulses.

    ``trace_rise_k`` is the temperature rise of the liquid's hottest point, ``deposit_loading`` the deposit's
    optical depth. ``film_flashes_s`` and ``film_bubbles`` are what a film showed at the same place, on the
    same clock. None means that the lane is left out.
    """

    title: str
    invented: bool
    calibrated: bool
    pulse_times_s: Times
    trace_times_s: Times
    trace_rise_k: NDArray[np.float64]
    threshold_rise_k: Known
    ignition_times_s: Times
    cavities: tuple[CavitySpan, ...]
    deposit_times_s: Times | None = None
    deposit_loading: NDArray[np.float64] | None = None
    removal_m: NDArray[np.float64] | None = None
    frame_times_s: Times | None = None
    exposure_s: float | None = None
    film_flashes_s: tuple[float, ...] | None = None
    film_bubbles: tuple[CavitySpan, ...] | None = None


def checked(view: StripView) -> StripView:
    """Refuse a view without pulses, or whose traces do not match their times or are not finite."""
    if view.pulse_times_s.size == 0:
        raise Missing("the strip has no pulses; it needs at least one. Choose a longer stretch of time.")
    pairs = [
        ("heating", view.trace_times_s, view.trace_rise_k),
        ("deposit", view.deposit_times_s, view.deposit_loading),
        ("removal", view.pulse_times_s if view.removal_m is not None else None, view.removal_m),
    ]
    for name, times, values in pairs:
        if times is None or values is None:
            continue
        if times.shape != values.shape or not (np.isfinite(times).all() and np.isfinite(values).all()):
            raise OutOfRange(
                f"the {name} trace has {values.size} values for {times.size} times, or some are not finite; "
                "a strip draws one finite value a time. Compute the trace again."
            )
    return view


def ends_s(view: StripView) -> tuple[float, float]:
    """Give the time axis's ends: everything from the first event to the last, and a little room."""
    last = [view.pulse_times_s.max(), *(span.close_s for span in view.cavities)]
    last += [view.trace_times_s.max()] if view.trace_times_s.size else []
    first_s = float(view.pulse_times_s.min())
    length_s = max(float(max(last)) - first_s, 1e-6)
    return first_s - 0.02 * length_s, first_s + 1.03 * length_s


def etching_pulses(view: StripView) -> NDArray[np.bool_]:
    """Say for each pulse whether it arrives while a cavity is open, shape (pulses,)."""
    inside = np.zeros(view.pulse_times_s.shape, dtype=np.bool_)
    for span in view.cavities:
        after = view.pulse_times_s > span.open_s + SAME_EVENT_S
        inside |= after & (view.pulse_times_s < span.close_s)
    return inside


def cavities_filmed(view: StripView) -> int:
    """Count the cavities that are open during at least one camera exposure."""
    if view.frame_times_s is None or view.exposure_s is None:
        return 0
    start, end = view.frame_times_s, view.frame_times_s + view.exposure_s
    return sum(bool(np.any((start < span.close_s) & (end > span.open_s))) for span in view.cavities)
