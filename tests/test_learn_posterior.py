import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import kstest

from bench_records import BATH, RIG
from farface.etch.bench import etch_bench
from farface.etch.unknowns import UNKNOWN_COUNT, log_prior, unknowns
from farface.learn.diagnostics import LEAST_EFFECTIVE, Diagnostics
from farface.learn.plates import PLATE_WIDTH
from farface.learn.posterior import Posterior, fit, unfold
from farface.learn.replicate import replicate
from farface.learn.taught import conflicts, plate_offsets, taught
from farface.records import DepthReading, Setting

BENCH = etch_bench(RIG, BATH)
SETTINGS = [
    Setting(pulse_energy_j=energy_j, rate_hz=rate_hz, pulses_per_point=8, pitch_m=15e-6, passes=10)
    for rate_hz in (20e3, 50e3)
    for energy_j in (1.2e-4, 2.4e-4, 4.8e-4)
]
MEDIANS = np.array([u.median for u in unknowns(BENCH)])
WIDTHS = np.log([u.factor for u in unknowns(BENCH)])


def posterior_of(draws: np.ndarray, offsets: np.ndarray) -> Posterior:
    """Hold draws as if they had been fitted."""
    none = np.zeros(0)
    return Posterior(
        draws=draws,
        plates=tuple("AB"[: offsets.shape[1]]),
        plate_offsets=offsets,
        log_likelihoods=np.zeros(len(draws)),
        diagnostics=Diagnostics(
            names=(), acceptance_share=0.3, stages=1, autocorrelation_steps=none, effective=none,
            split_rhat=none, converged=True, verdict="",
        ),
    )  # fmt: skip


def truth_at(sds: float) -> np.ndarray:
    return MEDIANS * np.exp(sds * WIDTHS)


@pytest.fixture(scope="module")
def fitted() -> tuple[np.ndarray, Posterior]:
    """Fit 48 cells of a bench whose truth lies a width off the prior's medians, to alternating sides."""
    rng = np.random.default_rng(11)
    truth = MEDIANS * np.exp(np.where(np.arange(UNKNOWN_COUNT) % 2, -1.0, 1.0) * WIDTHS)
    cells = [
        cell
        for plate, settings in (("A", SETTINGS[:3]), ("B", SETTINGS[3:]))
        for cell in replicate(BENCH, settings * 8, truth, rng, plate=plate)
    ]
    return truth, fit(BENCH, cells, [], rng, walkers=256, steps=30)


@pytest.mark.exact
def test_unfolded_places_have_the_prior_of_the_unknowns() -> None:
    places = np.random.default_rng(1).standard_normal((50, UNKNOWN_COUNT + 2))
    draws, offsets = unfold(BENCH, places)
    assert log_prior(BENCH, draws) == pytest.approx(-0.5 * (places[:, :UNKNOWN_COUNT] ** 2).sum(axis=1))
    assert offsets == pytest.approx(PLATE_WIDTH * places[:, UNKNOWN_COUNT:])


def test_without_evidence_the_posterior_is_the_prior() -> None:
    found = fit(BENCH, [], [], np.random.default_rng(1), walkers=512, steps=10)
    assert found.plate_offsets.shape == (len(found.draws), 0)
    z = (np.log(found.draws[:512]) - np.log(MEDIANS)) / WIDTHS
    assert min(kstest(column, "norm").pvalue for column in z.T) > 1e-4
    assert {row.verdict for row in taught(BENCH, found)} == {"not learned from these plates"}


def test_the_same_seed_gives_the_same_posterior() -> None:
    cells = replicate(BENCH, SETTINGS[:2], truth_at(0.0), np.random.default_rng(1))
    one, two = (fit(BENCH, cells, [], np.random.default_rng(5), walkers=128, steps=10) for _ in range(2))
    assert np.array_equal(one.draws, two.draws)


def test_a_known_truth_is_recovered(fitted: tuple[np.ndarray, Posterior]) -> None:
    """Expect no unknown beyond three widths of its posterior, and an offset of plates that had none."""
    truth, posterior = fitted
    logs = np.log(posterior.draws)
    off = (logs.mean(axis=0) - np.log(truth)) / logs.std(axis=0)
    assert np.abs(off).max() < 3.0, np.round(off, 1)
    assert np.abs(posterior.plate_offsets.mean(axis=0)).max() < 2.5 * PLATE_WIDTH
    assert posterior.plates == ("A", "B")


def test_cells_narrow_what_they_bear_on(fitted: tuple[np.ndarray, Posterior]) -> None:
    """Depths and the edge of runaway speak of growth; nothing here speaks of acid, as the bath has none."""
    rows = taught(BENCH, fitted[1])
    share = {row.unknown.name: row.width_share for row in rows}
    assert share["growth fluence"] < 0.7
    assert share["passivation"] == pytest.approx(1.0, abs=0.15)  # no more than sampling noise
    assert [row.width_share for row in rows] == sorted(row.width_share for row in rows)


def test_a_plate_that_saw_more_fluence_is_told() -> None:
    """Let plate B see a third more fluence than A at settings that etch steadily."""
    rng, steady = np.random.default_rng(7), [SETTINGS[2], SETTINGS[4]] * 6
    first = replicate(BENCH, steady, truth_at(0.0), rng, plate="A", offset=-0.15)
    second = replicate(BENCH, steady, truth_at(0.0), rng, plate="B", offset=0.15)
    posterior = fit(BENCH, first + second, [], rng, walkers=160, steps=20)
    low, high = posterior.plate_offsets.T
    assert (high > low).mean() > 0.95


def test_a_fit_ends_when_its_chains_will_do() -> None:
    cells = replicate(BENCH, SETTINGS[:3], truth_at(0.0), np.random.default_rng(1))
    told: list[float] = []
    found = fit(BENCH, cells, [], np.random.default_rng(2), walkers=256, progress=told.append).diagnostics
    assert found.converged, found.verdict
    assert found.effective.min() >= LEAST_EFFECTIVE
    assert told[-2] < 0.9  # long before the ceiling of steps
    assert found.names[-1] == "plate A"
    assert found.effective.shape == found.split_rhat.shape == (UNKNOWN_COUNT + 1,)


def test_a_fit_cut_short_says_so() -> None:
    cells = replicate(BENCH, SETTINGS[:3], truth_at(0.0), np.random.default_rng(1))
    found = fit(BENCH, cells, [], np.random.default_rng(2), walkers=128, steps=10)
    assert not found.diagnostics.converged
    assert "Give more steps or walkers" in found.diagnostics.verdict
    assert len(found.draws) > 0


def test_verdicts_follow_the_widths() -> None:
    z = np.random.default_rng(1).standard_normal((4000, UNKNOWN_COUNT))
    shrunk = np.ones(UNKNOWN_COUNT)
    shrunk[:2] = 0.3, 0.7
    rows = taught(BENCH, posterior_of(MEDIANS * np.exp(z * shrunk * WIDTHS), np.zeros((4000, 0))))
    assert [row.verdict for row in rows[:3]] == ["learned", "narrowed", "not learned from these plates"]
    assert [row.unknown.name for row in rows[:2]] == ["absorption", "spot radius"]
    assert rows[0].width_share == pytest.approx(0.3, rel=0.05)
    spot = rows[1]
    assert spot.before.low == pytest.approx(20e-6 * math.exp(-1.6449 * 0.075), rel=1e-3)
    assert spot.before.text == "20.0 um (17.7 um to 22.6 um)"


def test_offsets_are_said_as_fluence() -> None:
    offsets = np.log(np.column_stack((np.linspace(1.0, 1.2, 101), np.linspace(0.9, 1.0, 101))))
    first, second = plate_offsets(posterior_of(np.ones((101, UNKNOWN_COUNT)), offsets))
    assert first.sentence == "Plate A saw 10 % more fluence than the usual plate (+1 % to +19 %)."
    assert second.sentence == "Plate B saw 5 % less fluence than the usual plate (-9 % to -1 %)."


def test_what_the_fit_finds_unlikely_is_named() -> None:
    draws = np.repeat(truth_at(0.0)[None], 50, axis=0)
    posterior = posterior_of(draws, np.zeros((50, 1)))
    steady = SETTINGS[4]
    cells = replicate(BENCH, [steady] * 30, draws[0], np.random.default_rng(2))
    usual = next(cell for cell in cells if cell.depth is not None)
    assert usual.depth is not None
    wrong = replace(usual, cell="C3", seen="broken", depth=None)
    deep = replace(usual, cell="C4", depth=DepthReading(depth_m=1e-3, sd_m=2e-6, method="stylus"))
    shallow = replace(usual, cell="C5", depth=DepthReading(depth_m=1e-7, sd_m=1e-8, method="stylus"))
    found = conflicts(BENCH, posterior, [usual, wrong, deep, shallow])
    assert {c.outcome.cell for c in found} == {"C3", "C4", "C5"}
    sentences = {c.outcome.cell: c.sentence for c in found}
    assert "written down as 'broken'" in sentences["C3"]
    assert "deeper than the fit expects" in sentences["C4"]
    assert "shallower than the fit expects" in sentences["C5"]
    assert [c.odds for c in found] == sorted(c.odds for c in found)
