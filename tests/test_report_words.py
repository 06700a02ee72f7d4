"""Hold numbers in pictures to their rounding, scales to round steps, and labels to not overlapping."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from farface.report.known_text import is_soft, known_row, show_known
from farface.report.labels import spread, wrapped
from farface.report.look import CHARACTER_SHARE, SIZES_PX
from farface.report.scale import Scale, decade_ticks, even_ticks, round_above, round_below
from farface.report.svg import element, number, plain
from report_views import HOSTILE, known


@pytest.mark.parametrize(
    ("value", "sd", "words"),
    [
        (1.1e-3, 0.02e-3, "1.10 ± 0.02 mm"),
        (270e-6, 41e-6, "270 ± 40 um"),
        (20e-6, 1.23e-6, "20.0 ± 1.2 um"),
        (1e-3, 0.3e-3, "1.0 ± 0.3 mm"),
        (952e-6, 313e-6, "1.0 ± 0.3 mm"),
        (996e-9, 41e-9, "1.00 ± 0.04 um"),
        (20e-6, 0.0, "20.0 um"),
        (20e-6, math.nan, "20.0 um"),
        (3e-6, 20e-6, "0 ± 20 um"),
    ],
)
def test_value_and_spread_share_unit_and_rounding(value: float, sd: float, words: str) -> None:
    assert show_known(known(value, sd), "m") == words


@given(st.floats(1e-9, 1e-1), st.floats(1e-3, 2.0))
def test_the_words_lie_within_half_a_last_digit(value: float, share: float) -> None:
    said, spread_said, unit = show_known(known(value, share * value), "m").replace("± ", "").split()
    factor = {"mm": 1e-3, "um": 1e-6, "nm": 1e-9}[unit]
    step = 10.0 ** -len(said.partition(".")[2]) if "." in said else 1.0
    sd = share * value / factor
    place = max(step, 10.0 ** (math.floor(math.log10(sd)) - 1))
    assert abs(float(spread_said) - sd) <= 0.5 * max(place, 10.0 ** math.floor(math.log10(sd))) * 1.001
    assert abs(float(said) - value / factor) <= 5.0 * place * 1.001


def test_softness_follows_how_and_spread() -> None:
    assert not is_soft(known(1.0, 0.1))
    assert is_soft(known(1.0, 0.11))
    assert [is_soft(known(1.0, 0.0, how)) for how in ("measured", "stated", "computed", "assumed")] == [
        False,
        False,
        True,
        True,
    ]


def test_a_row_says_how_a_number_is_known() -> None:
    row = known_row("plate", known(1.1e-3, 2e-5), "m", "calliper")
    assert row == ("plate", "1.10 mm", "± 0.02 mm", "measured", "calliper")
    assert known_row("plate", known(1.1e-3), "m")[2] == "none given"


@given(st.floats(1e-12, 1e12))
def test_round_steps_are_one_two_or_five_and_next_to_the_value(value: float) -> None:
    below, above = round_below(value), round_above(value)
    assert below <= value * (1 + 1e-9)
    assert above >= value * (1 - 1e-9)
    assert value / below < 2.5 + 1e-6
    assert above / value < 2.5 + 1e-6
    for step in (below, above):
        assert any(math.isclose(step / 10 ** round(math.log10(step / f)), f) for f in (1, 2, 5))


@given(st.floats(-1e6, 1e6), st.floats(1e-6, 1e6), st.integers(2, 12))
def test_ticks_are_few_even_and_inside(low: float, length: float, most: int) -> None:
    # A span that a float cannot tell from its start has no ticks worth the name.
    assume(length > 1e-9 * abs(low))
    ticks = even_ticks(low, low + length, most)
    assert len(ticks) <= most
    assert all(low - 1e-6 * length <= t <= low + 1.000001 * length for t in ticks)


@given(st.floats(-9, 3), st.floats(0.3, 6), st.integers(3, 9))
def test_logarithmic_ticks_are_few_and_inside(start: float, decades: float, most: int) -> None:
    low, high = 10.0**start, 10.0 ** (start + decades)
    ticks = decade_ticks(low, high, most)
    assert len(ticks) <= most
    assert all(low * 0.999 <= t <= high * 1.001 for t in ticks)


@pytest.mark.exact
def test_scales_map_ends_to_ends_and_middles_to_middles() -> None:
    even = Scale(low=2.0, high=6.0, start_px=100.0, end_px=200.0)
    assert [even.at(v) for v in (2.0, 4.0, 6.0)] == pytest.approx([100, 150, 200])
    steep = Scale(low=1e-9, high=1e-5, start_px=300.0, end_px=100.0, logarithmic=True)
    assert [steep.at(v) for v in (1e-9, 1e-7, 1e-5, 0.0)] == pytest.approx([300, 200, 100, 300])


@given(st.lists(st.tuples(st.floats(0, 400), st.floats(15, 60)), max_size=6))
def test_labels_never_overlap_and_stay_above_the_bottom(labels: list[tuple[float, float]]) -> None:
    labels.sort()
    tops = spread([y for y, _ in labels], [h for _, h in labels], 0.0, 400.0)
    bottoms = [top + high for top, (_, high) in zip(tops, labels, strict=True)]
    assert all(bottom <= top + 1e-9 for bottom, top in zip(bottoms, tops[1:], strict=False))
    assert all(top >= -1e-9 and bottom <= 400.0 + 1e-9 for top, bottom in zip(tops, bottoms, strict=True))


@given(st.text(max_size=80), st.floats(60, 900))
def test_wrapped_lines_fit_and_lose_no_short_word(text: str, room_px: float) -> None:
    lines = wrapped(text, "note", room_px)
    assert all(len(line) * CHARACTER_SHARE * SIZES_PX["note"] <= room_px for line in lines)
    if all(len(word) * CHARACTER_SHARE * SIZES_PX["note"] <= room_px for word in text.split()):
        assert " ".join(lines).split() == text.split()


def test_text_and_attributes_are_escaped() -> None:
    assert "<" not in plain(HOSTILE)
    assert "\x00" not in plain(HOSTILE)
    written = element("g", id=HOSTILE)
    assert written.count("<") == 1
    assert "onload='x'" in written  # inside the quoted attribute, where it is only text


def test_a_coordinate_that_is_no_number_is_a_bug() -> None:
    with pytest.raises(ValueError, match="not finite"):
        number(math.nan)
    assert [number(v) for v in (0.0, -0.001, 1.5, 2.0, 123.456)] == ["0", "0", "1.5", "2", "123.46"]
