"""A close-up of a part: the same however it is spread, hotter at turns, and true to the plan's clock."""

from functools import cache

import numpy as np
import pytest

from bench_records import BATH, RIG
from farface.app.crew import open_crew
from farface.app.part_close_up import spread_over
from farface.etch.bench import EtchBench, etch_bench
from farface.etch.unknowns import GROWTH, SEED, draw_prior
from farface.files.close_up_picture import close_up_png
from farface.kernel import Missing
from farface.part.close_up import CloseUp, Scene, look_closely, on_threads, scene_at
from farface.part.duration import passes_duration_s
from farface.part.hatch import hatch_points_m
from farface.part.near import point_times_s
from farface.records import Pass, Setting
from plan_records import rectangle

SETTING = Setting(pulse_energy_j=4e-4, rate_hz=40e3, pulses_per_point=5, pitch_m=18e-6, passes=1)
INDEX = 1.46


@cache
def bench() -> EtchBench:
    return etch_bench(RIG, BATH)


def passes(count: int = 3) -> tuple[Pass, ...]:
    points_m = hatch_points_m((rectangle(0.3e-3, 0.3e-3),), pitch_m=SETTING.pitch_m, angle_rad=0.3)
    return tuple(
        Pass(number=n + 1, shape="a", kind="pocket", setting=SETTING, points_m=points_m, focus_drop_m=0.0)
        for n in range(count)
    )


def scene(count: int = 5) -> Scene:
    draws = draw_prior(bench(), count, np.random.default_rng(1))
    draws[:, SEED], draws[:, GROWTH] = 0.02, 2e6
    return scene_at(
        bench(),
        passes(),
        RIG.scanner,
        draws,
        middle_m=(-0.1e-3, -0.1e-3),
        side_m=0.15e-3,
        index=INDEX,
    )


def luck() -> np.random.Generator:
    return np.random.default_rng(4)


@cache
def seen() -> CloseUp:
    return look_closely(scene(), luck())


@pytest.mark.exact
@pytest.mark.parametrize("threads", [1, 3])
def test_any_number_of_threads_sees_the_same(threads: int) -> None:
    again = look_closely(scene(), luck(), lambda scene, turns: on_threads(scene, turns, threads=threads))
    for name in ("low_m", "median_m", "high_m", "rise_k", "margin_low"):
        assert np.array_equal(getattr(again, name), getattr(seen(), name), equal_nan=True), name


@pytest.mark.slow
@pytest.mark.exact
def test_workers_of_a_cluster_see_the_same() -> None:
    from distributed import LocalCluster

    with (
        LocalCluster(n_workers=1, threads_per_worker=2, processes=False, dashboard_address=None) as cluster,
        open_crew(cluster.scheduler_address) as crew,
    ):
        again = look_closely(scene(), luck(), spread_over(crew))
    assert np.array_equal(again.median_m, seen().median_m)


def test_a_close_up_shows_the_floor_the_untouched_rim_and_less_margin_where_it_is_hot() -> None:
    found = seen()
    assert found.median_m.max() > 1e-6
    assert found.median_m[0, 0] == 0.0
    assert (found.low_m <= found.median_m).all()
    assert (found.median_m <= found.high_m).all()
    inside = np.isfinite(found.rise_k)
    hot = found.rise_k > np.nanquantile(found.rise_k, 0.8)
    cool = inside & (found.rise_k < np.nanquantile(found.rise_k, 0.2))
    assert np.nanmedian(found.margin_low[hot]) < np.nanmedian(found.margin_low[cool])
    assert close_up_png(found, title="a", invented=True).startswith(b"\x89PNG")


@pytest.mark.exact
def test_the_clock_of_a_pass_ends_when_the_pass_does() -> None:
    (one,) = passes(1)
    end_s = point_times_s(one, RIG.scanner)[-1] + SETTING.pulses_per_point / SETTING.rate_hz
    assert end_s == pytest.approx(passes_duration_s([one], RIG.scanner), rel=1e-12)


def test_a_place_where_nothing_is_fired_is_refused() -> None:
    draws = draw_prior(bench(), 2, np.random.default_rng(1))
    with pytest.raises(Missing, match="nothing is fired"):
        scene_at(bench(), passes(), RIG.scanner, draws, middle_m=(5e-3, 0.0), side_m=1e-4, index=INDEX)
