"""Set the removal law beside published etching, misses included, and hold the manual's table to it."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from bench_records import BATH, RIG
from farface.etch.bench import etch_bench
from farface.etch.etched import REMOVAL_ENERGY_J_PER_M3
from farface.etch.published import SETS, Published
from farface.etch.unknowns import BREAKING, REMOVAL_SHARE, THRESHOLD, unknowns
from farface.materials import liquid
from farface.materials.water_liquid import water_by_temperature

PRIOR = unknowns(etch_bench(RIG, BATH))
# Half a 90 % band in standard deviations.
NINETY = 1.645
# One nanometre for each J/cm2, in m3/J.
NM_PER_J_PER_CM2 = 1e-13
PAGE = Path(__file__).parents[1] / "docs" / "models" / "deposit.md"


def share_needed(found: Published) -> float:
    """Return the removal share, the only free number, that gives the published slope."""
    return found.slope_m3_per_j * REMOVAL_ENERGY_J_PER_M3 / found.absorbed_share


def expected_threshold(found: Published) -> tuple[float, float, float]:
    """Return low end, median and high end of the prior's threshold, as incident fluence in J/cm2."""
    prior = PRIOR[THRESHOLD]
    median = prior.median / 1e4 / found.absorbed_share
    reach = prior.factor**NINETY
    return median / reach, median, median * reach


def within(value: float, low: float, high: float) -> str:
    return "yes" if low <= value <= high else "no"


def table_row(found: Published) -> str:
    prior = PRIOR[REMOVAL_SHARE]
    reach = prior.factor**NINETY
    share = share_needed(found)
    low, median, high = expected_threshold(found)
    slope = found.slope_m3_per_j / NM_PER_J_PER_CM2
    return (
        f"| {found.name} [{found.key}] | {found.absorbed_share:.2f} | {slope:.1f} "
        f"| {share:.3f} | {within(share, prior.median / reach, prior.median * reach)} "
        f"| {found.threshold_j_per_m2 / 1e4:g} | {median:.2f} ({low:.2f} to {high:.2f}) "
        f"| {within(found.threshold_j_per_m2 / 1e4, low, high)} |"
    )


@pytest.mark.published
@pytest.mark.parametrize("found", SETS, ids=lambda found: found.name)
def test_the_manual_shows_the_model_beside_the_measurement(found: Published) -> None:
    assert table_row(found) in PAGE.read_text("utf-8")


@pytest.mark.published
def test_printed_slopes() -> None:
    """38.9 nm per J/cm2 (gallium, 18 ns) and 157.9 (silver film), to a tenth."""
    assert SETS[0].slope_m3_per_j / NM_PER_J_PER_CM2 == pytest.approx(38.9, rel=0.1)
    assert SETS[3].slope_m3_per_j / NM_PER_J_PER_CM2 == pytest.approx(157.9, rel=0.1)


@pytest.mark.published
def test_every_slope_is_met_by_a_removal_share_within_the_prior() -> None:
    prior = PRIOR[REMOVAL_SHARE]
    for found in SETS:
        assert abs(math.log(share_needed(found) / prior.median)) < NINETY * math.log(prior.factor)


@pytest.mark.published
def test_both_thresholds_on_thick_gallium_at_1064_nm_lie_within_the_prior() -> None:
    """Those of the fibre and of the thin film do not; the manual says so."""
    for found, met in zip(SETS, (True, True, False, False), strict=True):
        low, _, high = expected_threshold(found)
        assert (low <= found.threshold_j_per_m2 / 1e4 <= high) is met


@pytest.mark.published
def test_breaking_of_soda_lime_starts_from_where_cracks_were_seen() -> None:
    """Cracks above some 1e2 J/cm2 (Russ. J. Phys. Chem. B, 2017), good to a factor of two."""
    soda_lime = replace(RIG, plate=replace(RIG.plate, glass="soda_lime_slide"))
    median = unknowns(etch_bench(soda_lime, BATH))[BREAKING].median
    assert 0.5e6 <= median <= 2e6


@pytest.mark.published
def test_crack_window_of_the_fibre_lies_within_the_prior_s_reach() -> None:
    """Vass et al. 2013: breakage at 1.06 against a threshold of 0.475 J/cm2, a ratio of 2.23 within 5 %.

    The model's ratio, breaking fluence over incident threshold at the fibre's absorptance, is far wider: a
    miss that the manual names.
    """
    assert pytest.approx(2.23, rel=0.05) == 1.06 / 0.475
    fibre = SETS[2]
    expected = PRIOR[BREAKING].median / (PRIOR[THRESHOLD].median / fibre.absorbed_share)
    assert expected > 10.0 * 2.23


@pytest.mark.exact
def test_fluence_that_boils_the_liquid_alone_as_printed() -> None:
    """126.9 J/cm2 at alpha 10 /cm to 575 K from 20 C, from IAPWS-95 enthalpies of saturated water."""
    table = water_by_temperature("saturated")
    span_k = np.linspace(293.15, 575.0, 800)
    capacity = table.at("heat_capacity_j_per_kg_k", span_k)
    heat_j_per_m3 = float(np.trapezoid(capacity, span_k)) * liquid("water").density_kg_per_m3
    assert heat_j_per_m3 / 1000.0 / 1e4 == pytest.approx(126.9, rel=2e-3)
