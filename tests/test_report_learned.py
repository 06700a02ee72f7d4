"""Hold the picture of what was learned to its logarithmic axis and its words."""

import math
from dataclasses import replace

import pytest

from farface.kernel import Malformed
from farface.report.learned import Band, learned_caption, learned_share, learned_svg
from report_views import HOSTILE, drawn, found, learned_view, words


@pytest.mark.drawn_truth
@pytest.mark.parametrize("narrow", [False, True])
def test_bars_span_their_bands_on_the_logarithmic_axis(narrow: bool) -> None:
    root = drawn(learned_svg(learned_view(), narrow=narrow))
    axis = found(root, "axis")[0]
    ticks = {n.text: float(n.get("x", 0)) for n in axis.iter() if (n.text or "").startswith("×")}
    decade_px = ticks["× 3"] - ticks["× 0.3"]
    for kind, ratio in (("prior", 25.0), ("posterior", 0.62 / 0.4)):
        bar = found(root, kind)[0]
        assert float(bar.get("width", 0)) / decade_px == pytest.approx(math.log10(ratio), rel=2e-3)
    low_px = float(found(root, "prior")[0].get("x", 0))
    assert (low_px - ticks["× 1"]) / decade_px == pytest.approx(math.log10(0.1 / 0.5), rel=2e-3)


@pytest.mark.exact
def test_the_share_learned_is_the_loss_of_width() -> None:
    taught, untaught = learned_view().rows
    assert learned_share(untaught) == 0.0
    assert learned_share(taught) == pytest.approx(1.0 - math.log(0.62 / 0.4) / math.log(25.0))


def test_the_caption_tells_what_was_and_what_was_not_learned() -> None:
    said = learned_caption(learned_view())
    assert "most about threshold" in said
    assert "little or nothing about passivation" in said


def test_values_stand_beside_the_bars_with_their_unit() -> None:
    said = words(drawn(learned_svg(learned_view())))
    assert "0.50 (0.40 to 0.62) J/cm2" in said
    assert "was 0.50 (0.10 to 2.5) J/cm2" in said


def test_names_of_people_stay_text() -> None:
    rows = (replace(learned_view().rows[0], name=HOSTILE, meaning=HOSTILE, unit=HOSTILE),)
    root = drawn(learned_svg(learned_view(title=HOSTILE, rows=rows)))
    assert not [n for n in root.iter() if n.tag.endswith("script")]


@pytest.mark.parametrize("band", [(0.0, 1.0, 2.0), (2.0, 1.0, 3.0), (1.0, 1.0, 1.0), (1.0, 2.0, math.inf)])
def test_bands_that_are_none_are_refused(band: tuple[float, float, float]) -> None:
    low, median, high = band
    rows = (replace(learned_view().rows[0], posterior=Band(low=low, median=median, high=high)),)
    with pytest.raises(Malformed, match="posterior of threshold"):
        learned_svg(learned_view(rows=rows))
