"""Interval censoring against printed answers of R and a live second implementation."""

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from farface.kernel import Malformed, NotConverged
from farface.learn.intervals import LAWS, LOG_NORMAL, WEIBULL, fit_intervals, log_likelihood, log_within

READINGS = Path(__file__).parent / "data" / "interval_censored" / "interval.csv"
# R stops when the log likelihood moves by less than 1e-9 of itself; places are known to its square root.
LOG_LIKELIHOOD_ERROR = 1e-6
PLACE_ERROR = 1e-4


def readings() -> tuple[np.ndarray, np.ndarray]:
    """Read the intervals, shape (reading, 2), and their groups."""
    with READINGS.open(newline="") as lines:
        rows = [(float(r["left"]), float(r["right"] or "inf"), float(r["z"])) for r in csv.DictReader(lines)]
    table = np.array(rows)
    return table[:, :2], table[:, 2]


# R survival 3.5.8, survreg(Surv(left, right, type = "interval2") ~ 1): coefficient, scale, log likelihood.
ANSWERS = {
    "Weibull": (2.23077779120431, 0.469695961424355, -126.122192368985),
    "log-normal": (1.97993340560088, 0.586728471531275, -130.101263288183),
}


@pytest.mark.published
@pytest.mark.parametrize("name", ANSWERS)
def test_fits_agree_with_r(name: str) -> None:
    """Answers of R's survival package that surpyval 0.25 carries (`r_survival.json`)."""
    intervals, _ = readings()
    mu, sigma, log_l = ANSWERS[name]
    found = fit_intervals(intervals, LAWS[name])
    assert found.log_likelihood == pytest.approx(log_l, abs=LOG_LIKELIHOOD_ERROR)
    assert (found.log_place, found.log_width) == pytest.approx((mu, sigma), abs=PLACE_ERROR)
    assert log_likelihood(LAWS[name], intervals, mu, sigma) == pytest.approx(log_l, abs=LOG_LIKELIHOOD_ERROR)


@pytest.mark.published
@pytest.mark.parametrize(
    ("law", "coefficients", "sigma", "log_l"),
    [
        (WEIBULL, (2.410512658011, -0.431410102881326), 0.409144370923154, -119.573237412165),
        (LOG_NORMAL, (2.16488494202434, -0.396090442241835), 0.55196778264422, -126.593292015303),
        (WEIBULL, (2.3563912274955, -0.493522289688569), 1.0, -141.094214402263),  # exponential
    ],
)
def test_groups_with_places_of_their_own_agree_with_r(law, coefficients, sigma, log_l) -> None:
    """R survival 3.5.8, survreg(... ~ z), as above: each group has a place of its own, as a setting has."""
    intervals, z = readings()
    mu = coefficients[0] + coefficients[1] * z
    assert log_likelihood(law, intervals, mu, sigma) == pytest.approx(log_l, abs=LOG_LIKELIHOOD_ERROR)


@pytest.mark.published
def test_an_exponential_fit_agrees_with_r() -> None:
    """R survival 3.5.8, survreg(... ~ 1, dist = "exponential"): 2.14423469485379, -142.797785261531."""
    found = fit_intervals(readings()[0], WEIBULL, sigma=1.0)
    assert found.log_place == pytest.approx(2.14423469485379, abs=PLACE_ERROR)
    assert found.log_likelihood == pytest.approx(-142.797785261531, abs=LOG_LIKELIHOOD_ERROR)


@pytest.mark.exact
def test_seven_of_ten_pierced_by_pass_5() -> None:
    """A constant rate of piercing: -ln(0.3) / 5 = 0.24079 a pass is likeliest, in closed form."""
    intervals = np.array([(0.0, 5.0)] * 7 + [(5.0, math.inf)] * 3)
    found = fit_intervals(intervals, WEIBULL, sigma=1.0)
    assert math.exp(-found.log_place) == pytest.approx(0.24079, abs=5e-6)


@pytest.mark.exact
@pytest.mark.slow
@pytest.mark.parametrize("name", ["Weibull", "log-normal"])
def test_diabetes_data_agree_with_lifelines(name: str) -> None:
    """731 readings, exact and interval censored, that lifelines ships; its own fitters are the peer."""
    lifelines = pytest.importorskip("lifelines")
    from lifelines.datasets import load_diabetes

    table = load_diabetes()
    intervals = table[["left", "right"]].to_numpy(dtype=float)
    peer = {"Weibull": lifelines.WeibullFitter, "log-normal": lifelines.LogNormalFitter}[name]()
    peer.fit_interval_censoring(table["left"], table["right"])
    found = fit_intervals(intervals, LAWS[name])
    assert found.log_likelihood == pytest.approx(peer.log_likelihood_, abs=1e-4)
    if name == "log-normal":
        assert (found.log_place, found.log_width) == pytest.approx((peer.mu_, peer.sigma_), abs=1e-3)
    else:
        assert math.exp(found.log_place) == pytest.approx(peer.lambda_, rel=1e-3)


@pytest.mark.exact
@pytest.mark.parametrize("law", LAWS.values(), ids=LAWS)
def test_intervals_side_by_side_share_out_one(law) -> None:
    ends = np.concatenate(([-np.inf], np.linspace(-6.0, 6.0, 60), [np.inf]))
    assert np.exp(log_within(law, ends[:-1], ends[1:])).sum() == pytest.approx(1.0, abs=1e-9)
    far = log_within(law, np.array([3.0]), np.array([3.1]))
    step = law.log_density(np.array([3.05])) + math.log(0.1)
    assert far == pytest.approx(step, rel=0.01)


@pytest.mark.parametrize("bad", [(3.0, 2.0), (-1.0, 2.0), (0.0, math.inf), (0.0, 0.0)])
def test_an_interval_that_says_nothing_is_refused(bad) -> None:
    with pytest.raises(Malformed, match="interval"):
        fit_intervals(np.array([(1.0, 2.0), bad]))


@pytest.mark.parametrize("all_alike", [(5.0, math.inf), (0.0, 5.0)])
def test_readings_on_one_side_have_no_likeliest_law(all_alike) -> None:
    with pytest.raises(NotConverged, match="one side"):
        fit_intervals(np.array([all_alike] * 4))
