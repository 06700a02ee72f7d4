"""Readings of a floor on the way: against the exact answer of normal numbers, and against belief."""

import math

import numpy as np
import pytest

from farface.kernel import Malformed
from farface.learn.floor import DRIFT, Floor, passes_left, untouched_floor, with_reading

# 4000 particles, drawn anew once: their mean and spread scatter by a few per cent of the spread.
SAMPLED = 0.08


def rng() -> np.random.Generator:
    return np.random.default_rng(5)


def believed(rate_m: float = 1e-6, width: float = 0.3) -> Floor:
    return untouched_floor(np.full(200, rate_m), np.full(200, width), rng())


@pytest.mark.exact
def test_a_reading_narrows_a_normal_depth_as_bayes_says() -> None:
    prior = np.random.default_rng(1).normal(40e-6, 6e-6, 4000)
    read_m, sd_m = 46e-6, 4e-6
    after = with_reading(
        Floor(depth_m=prior, rate_m_per_pass=np.full(4000, 1e-6)), rng(), reading_m=read_m, sd_m=sd_m
    )
    weight = 6.0**2 / (6.0**2 + 4.0**2)
    sd = math.sqrt(weight) * sd_m
    assert after.depth_m.mean() == pytest.approx(40e-6 + weight * 6e-6, abs=SAMPLED * sd)
    assert after.depth_m.std() == pytest.approx(sd, rel=SAMPLED)


@pytest.mark.exact
def test_a_sharp_reading_sets_the_rate_and_leaves_its_drift() -> None:
    after = with_reading(believed().after(40), rng(), reading_m=52e-6, sd_m=0.0)
    assert np.median(after.rate_m_per_pass) == pytest.approx(52e-6 / 40, rel=0.02)
    assert np.std(np.log(after.rate_m_per_pass)) == pytest.approx(DRIFT, rel=0.1)
    assert passes_left(after, 100e-6) == round(48e-6 / float(np.median(after.rate_m_per_pass)))


def test_two_readings_follow_a_rate_that_changes() -> None:
    once = with_reading(believed().after(40), rng(), reading_m=40e-6, sd_m=0.5e-6)
    slower = with_reading(once.after(20), rng(), reading_m=56e-6, sd_m=0.5e-6)
    assert float(np.median(slower.rate_m_per_pass)) < 0.95 * float(np.median(once.rate_m_per_pass))


def test_a_reading_that_nothing_explains_is_believed() -> None:
    after = with_reading(believed(width=0.05).after(40), rng(), reading_m=12e-6, sd_m=0.5e-6)
    assert float(np.median(after.depth_m)) == pytest.approx(12e-6, rel=0.1)


def test_a_floor_that_is_deep_enough_needs_no_pass() -> None:
    assert passes_left(believed().after(200), 100e-6) == 0


@pytest.mark.parametrize("reading_m", [-1e-6, math.nan, math.inf])
def test_no_depth_is_refused(reading_m: float) -> None:
    with pytest.raises(Malformed, match="must be numbers from 0 up"):
        with_reading(believed(), rng(), reading_m=reading_m, sd_m=1e-6)
