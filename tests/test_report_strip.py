"""Hold the strip to its one time axis: every event stands where its time says."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farface.kernel import FarfaceError
from farface.report.strip import CavitySpan, strip_caption, strip_svg
from farface.report.strip_place import envelope
from farface.report.strip_view import cavities_filmed, etching_pulses
from report_views import HOSTILE, Element, drawn, found, known, points, strip_view, words

ROUNDING_PX = 0.011  # px, coordinates are written to 0.01


def _px_per_us(root: Element) -> tuple[float, float]:
    """Read scale and origin of the time axis off its numbered ticks."""
    axis = found(root, "time")[0]
    labels = [n for n in axis.iter() if n.get("text-anchor") == "middle"]
    (x0, t0), (x1, t1) = ((float(n.get("x", 0)), float(n.text or 0)) for n in (labels[0], labels[-1]))
    scale = (x1 - x0) / (t1 - t0)
    return scale, x0 - scale * t0


@pytest.mark.drawn_truth
@pytest.mark.parametrize("narrow", [False, True])
def test_events_stand_at_their_times(narrow: bool) -> None:
    view = strip_view()
    root = drawn(strip_svg(view, narrow=narrow))
    scale, zero_px = _px_per_us(root)
    tolerance_us = 3 * ROUNDING_PX / scale

    def times_us(places_px: list[float]) -> list[float]:
        return [(x - zero_px) / scale for x in places_px]

    rules = [points(n)[0, 0] for n in found(found(root, "rules")[0], "grid")]
    assert times_us(rules) == pytest.approx([0, 25, 50, 75, 100, 125], abs=tolerance_us)
    span = points(found(root, "span")[0])[:, 0]
    assert times_us([span.min(), span.max()]) == pytest.approx([25, 85], abs=tolerance_us)
    boxes = found(root, "exposure")
    starts = times_us([float(b.get("x", 0)) for b in boxes])
    assert starts == pytest.approx([10, 43, 76, 109], abs=tolerance_us)
    assert float(boxes[0].get("width", 0)) / scale == pytest.approx(5.0, abs=2 * tolerance_us)
    etching = [points(n)[0, 0] for n in found(root, "etching")]
    assert times_us(etching) == pytest.approx([50, 75], abs=tolerance_us)


@pytest.mark.drawn_truth
def test_a_bubble_seen_on_film_is_drawn_to_the_same_height_scale() -> None:
    root = drawn(strip_svg(strip_view()))
    spans = [points(n)[:, 1] for n in found(root, "span")]
    computed, filmed = (np.ptp(y) for y in spans)
    lanes = 64.0, 52.0  # heights of the two lanes
    assert (filmed / lanes[1]) / (computed / lanes[0]) == pytest.approx(250 / 270, rel=1e-3)


@pytest.mark.exact
def test_a_pulse_etches_if_it_comes_while_the_cavity_is_open() -> None:
    assert etching_pulses(strip_view()).tolist() == [False, False, True, True, False, False]


@pytest.mark.exact
def test_the_camera_sees_what_is_open_while_it_looks() -> None:
    # Exposures 10..15, 43..48, 76..81, 109..114 us.
    def filmed(start_us: float, end_us: float) -> int:
        span = CavitySpan(open_s=1e-6 * start_us, close_s=1e-6 * end_us, radius_max_m=1e-4)
        return cavities_filmed(strip_view(cavities=(span,)))

    assert [filmed(16, 42), filmed(14, 42), filmed(16, 44), filmed(44, 46), filmed(115, 140)] == [
        0,
        1,
        1,
        1,
        0,
    ]


def test_a_soft_threshold_is_a_band_a_measured_one_a_line() -> None:
    soft = drawn(strip_svg(strip_view()))
    sharp = drawn(strip_svg(strip_view(threshold_rise_k=known(280.0, 5.0))))
    assert found(found(soft, "threshold")[0], "soft")
    assert not found(found(soft, "threshold")[0], "edge")
    assert found(found(sharp, "threshold")[0], "edge")
    assert "280 ± 30 K" in words(soft)
    assert "280 ± 5 K" in words(sharp)


def test_lanes_without_data_are_left_out() -> None:
    bare = {"deposit_times_s": None, "deposit_loading": None, "removal_m": None, "frame_times_s": None}
    said = words(drawn(strip_svg(strip_view(**bare, film_flashes_s=None, film_bubbles=None))))
    assert {"pulses", "heating", "cavity"} <= set(said.split())
    assert not {"deposit", "removal", "camera", "film"} & set(said.split())
    assert set(words(drawn(strip_svg(strip_view()))).split()) >= LANES


LANES = {"pulses", "heating", "cavity", "film", "deposit", "removal", "camera"}


def test_the_caption_counts() -> None:
    said = strip_caption(strip_view())
    assert "1 of 6 pulses" in said
    assert "2 arrive in an open cavity" in said
    assert "catches 1 of 1 cavities" in said
    cold = strip_view(ignition_times_s=np.array([]), cavities=())
    assert "None of 6 pulses" in strip_caption(cold)
    closed = strip_view(cavities=())
    assert "none arrive in an open cavity" in strip_caption(closed)


def test_names_of_people_stay_text() -> None:
    root = drawn(strip_svg(strip_view(title=HOSTILE)))
    assert not [node for node in root.iter() if node.tag.endswith("script")]
    assert "<script>" in (root[0].text or "")


@pytest.mark.parametrize(
    "change",
    [
        {"pulse_times_s": np.array([])},
        {"trace_rise_k": np.array([1.0, 2.0])},
        {"removal_m": np.full(6, np.nan)},
        {"deposit_loading": np.zeros(3)},
    ],
)
def test_what_cannot_be_drawn_is_refused(change: dict[str, Any]) -> None:
    with pytest.raises(FarfaceError):
        strip_svg(strip_view(**change))


@given(st.lists(st.floats(-1e3, 1e3), min_size=1, max_size=6000))
@settings(max_examples=30, deadline=None)
def test_thinning_a_trace_keeps_its_peaks(values: list[float]) -> None:
    rise = np.array(values)
    thin = np.array(envelope(np.arange(rise.size, dtype=float), rise))
    assert len(thin) <= 1000
    assert (thin[:, 1].max(), thin[:, 1].min()) == (rise.max(), rise.min())
    assert np.all(np.diff(thin[:, 0]) > 0.0)


@pytest.mark.parametrize("pulses", [1, 500])
def test_one_pulse_and_many_pulses_are_drawn(pulses: int) -> None:
    times, none = np.arange(pulses) * 12.5e-6, np.zeros(pulses)
    changes = {"pulse_times_s": times, "removal_m": none, "deposit_times_s": times, "deposit_loading": none}
    root = drawn(strip_svg(strip_view(**changes)))
    assert bool(found(root, "rules")) == (pulses == 1)
