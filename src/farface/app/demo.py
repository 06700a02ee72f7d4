"""Make the demo bench and walk the whole loop on it, through the same use cases as the single commands.

Everything in it is invented: rig, bath and drawing are files of this package, outcomes and film come from a
virtual bench whose hidden truth is not the model that is fitted.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import numpy as np

from farface.app.answer import Answer
from farface.app.bath import explain_bath
from farface.app.coupon import lay_out_coupon, order_coupon
from farface.app.coupon_order import CouponOrder
from farface.app.explain import explain_setting
from farface.app.film_scale import FilmTyped
from farface.app.footage import take_film
from farface.app.learn import learn_from_bench
from farface.app.new_bench import begin_with_demo
from farface.app.next_cells import NextOrder, propose_next
from farface.app.outcomes import take_outcomes
from farface.app.part import plan_part
from farface.app.part_order import PartOrder
from farface.app.prepare import prepare_bench
from farface.app.progress import Progress, quiet
from farface.app.report import write_report
from farface.app.rig import explain_rig
from farface.app.settings import Typed, setting_of
from farface.app.ticks import TickOrder, tick_sheet
from farface.app.window import map_window
from farface.app.workbench import Workbench, open_workbench
from farface.coupon.virtual_bench import DEMO_TRUTH, film_truth, run_coupon
from farface.files.bench_folder import open_bench
from farface.files.film_write import write_film
from farface.files.outcomes_file import write_outcomes
from farface.footage.drawn import FilmTruth, TrueBubble, TrueFlash, draw_frames
from farface.kernel import Missing
from farface.records import FilmScale
from farface.report.content import Table

PLATE: Final = "P1"
AROUND: Final = Typed(rate="40 kHz", pulses=8, pitch="18 um", passes=20)
COUPON: Final = CouponOrder(name=PLATE, x="energy=90 uJ..750 uJ", y="pulses=2..12", levels=6)
FILMED: Final = Typed(energy="300 uJ", rate="40 kHz", pulses=8, pitch="18 um", passes=1)
FILM_S: Final = 0.05
FACE_ROW_PX: Final = 60.0
FLASH_RADIUS_M: Final = 30e-6
PLAYBACK_HZ: Final = 25.0
NEXT: Final = NextOrder(depth="100 um", risk=0.15, cells=8)
# Under so many draws a corner of the part is fired pulse by pulse.
CLOSELY: Final = 16
NOBODY: Final = "nobody (invented confirmation of the demo)"
NOBODYS_INITIALS: Final = "N.N. (invented)"


@dataclass(slots=True, kw_only=True)
class _Walk:
    """Take the steps one after another, with the time each took and its first sentence."""

    tell: Progress
    rows: list[tuple[str, str, str]] = field(default_factory=list)
    files: list[Path] = field(default_factory=list)

    def step(self, name: str, use_case: Callable[[], Answer]) -> Answer:
        """Run one use case and remember what it said."""
        self.tell(name, 0.0)
        start_s = time.perf_counter()
        answer = use_case()
        self.rows.append((name, answer.sentences[0], f"{time.perf_counter() - start_s:.1f} s"))
        self.files.extend(answer.files)
        self.tell(name, 1.0)
        return answer


def run_demo(folder: Path, *, seed: int, tell: Progress = quiet) -> Answer:
    """Make the bench in a new folder and go through the loop once; returns the summary."""
    begin_with_demo(folder)
    places = open_bench(folder)
    walk = _Walk(tell=tell)
    with open_workbench(folder, seed=seed) as work:
        _prepare(walk, work)
        _try(walk, work)
        _learn(walk, work, tell)
        _make(walk, work, tell)
    summary = Table(
        caption="What the demo did (invented data)",
        header=("step", "what it said", "time"),
        rows=tuple(walk.rows),
    )
    return Answer(
        title=f"Demo bench in {folder} (invented data)",
        sentences=(
            f"Open {places.reports / 'report.html'} first. Every step can be repeated with its own "
            f"command and --bench {folder}.",
        ),
        tables=(summary,),
        data={"steps": [dict(zip(summary.header, row, strict=True)) for row in walk.rows]},
        files=(places.reports / "report.html",),
    )


def _prepare(walk: _Walk, work: Workbench) -> None:
    walk.step("rig", lambda: explain_rig(work, FILMED))
    walk.step("bath", lambda: explain_bath(work))
    walk.step("prepare", lambda: prepare_bench(work, FILMED))
    walk.step("window before", lambda: map_window(work, AROUND))


def _try(walk: _Walk, work: Workbench) -> None:
    """Lay out a coupon, let the virtual bench run it, and read what it filled in and filmed."""
    walk.step("coupon", lambda: lay_out_coupon(work, AROUND, COUPON))
    coupon = order_coupon(work, AROUND, COUPON)
    filled = work.places.coupons / f"{PLATE}-filled.csv"
    write_outcomes(filled, run_coupon(coupon, work.rig, work.bath, DEMO_TRUTH, work.rng()))
    walk.step("outcomes", lambda: take_outcomes(work, filled))
    film = work.places.films / "steady.mp4"
    film_virtual_bench(work, film)
    walk.step("footage", lambda: take_film(work, film, FilmTyped(), FILMED, plate=PLATE))


def _learn(walk: _Walk, work: Workbench, tell: Progress) -> None:
    walk.step("learn", lambda: learn_from_bench(work, steps=None, tell=tell))
    walk.step("window after", lambda: map_window(work, AROUND))
    walk.step("next", lambda: propose_next(work, AROUND, NEXT))


def _make(walk: _Walk, work: Workbench, tell: Progress) -> None:
    ticked = TickOrder(sheet="set-up", initials=NOBODYS_INITIALS, everything=True)
    walk.step("ticks", lambda: tick_sheet(work, ticked))
    order = PartOrder(drawing=work.places.drawings / "chamber.svg", confirmed_by=NOBODY, closely=CLOSELY)
    made = walk.step("part", lambda: plan_part(work, Typed(pitch=AROUND.pitch), order, tell=tell))
    chosen = made.data["setting"]
    typed = Typed(
        energy=f"{chosen['pulse_energy_j'] * 1e6:.6g} uJ", rate=f"{chosen['rate_hz'] / 1e3:.6g} kHz",
        pulses=chosen["pulses_per_point"], pitch=f"{chosen['pitch_m'] * 1e6:.6g} um", passes=20,
    )  # fmt: skip
    walk.step("explain", lambda: explain_setting(work, typed))
    walk.step("report", lambda: write_report(work))


def film_virtual_bench(work: Workbench, path: Path) -> None:
    """Film the virtual bench at one setting with the rig's camera; the film is drawn, and says so by name."""
    camera = work.rig.camera
    if camera is None:
        raise Missing("the rig has no camera, so there is nothing to film with. Describe one in rig.toml.")
    rng = np.random.default_rng(work.seed + 1)
    truth = film_truth(
        setting_of(work.rig, FILMED), work.rig, work.bath, DEMO_TRUTH, duration_s=FILM_S, rng=rng
    )
    scale = FilmScale(
        frame_hz=camera.frame_hz,
        exposure_s=camera.exposure_s,
        pixel_m=camera.pixel_m,
        face_row_px=FACE_ROW_PX,
    )
    middle_m = 0.5 * camera.width_px * camera.pixel_m
    drawn = FilmTruth(
        scale=scale,
        frames=round(FILM_S * camera.frame_hz),
        width_px=camera.width_px,
        height_px=camera.height_px,
        bubbles=tuple(
            TrueBubble(start_s=b.time_s, along_m=b.along_m + middle_m, below_m=b.below_m,
                       radius_max_m=b.radius_m, life_s=b.life_s)
            for b in truth.bursts
        ),
        flashes=tuple(
            TrueFlash(time_s=s.time_s, along_m=s.along_m + middle_m, below_m=0.0, radius_m=FLASH_RADIUS_M)
            for s in truth.strikes
        ),
    )  # fmt: skip
    write_film(path, draw_frames(drawn, rng), PLAYBACK_HZ, quality="near")
