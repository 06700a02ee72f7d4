"""Measure the close-up of the demo's part under 200 draws: planned, fired pulse by pulse, and mapped."""

import time
from importlib.resources import as_file, files

import numpy as np

from benchmarks.bench import BENCH
from benchmarks.row import Row, row
from farface.etch.unknowns import draw_prior
from farface.files.drawing import read_drawing
from farface.files.rig_file import read_rig
from farface.materials import glass
from farface.part.close_up import look_closely, scene_at
from farface.part.passes import Etching, plan_part
from farface.records import Setting

DRAWS = 200
THREADS = 2
# The setting that the demo's bench chose once it had learned: 108 passes for the field.
SETTING = Setting(pulse_energy_j=575e-6, rate_hz=40e3, pulses_per_point=3, pitch_m=18e-6, passes=1)
DEPTH_PER_PASS_M = 0.93e-6
CORNER_M = (-4.374e-3, -4.374e-3)
SIDE_M = 0.36e-3


def measure() -> Row:
    """Look closely at a corner of the counting chamber under 200 draws of the prior.

    The value is in seconds, were a core free for each of the two threads.
    """
    with as_file(files("farface.app").joinpath("demo_files")) as folder:
        rig = read_rig(folder / "rig.toml")
        shapes = read_drawing(folder / "chamber.svg").shapes
    index = glass(rig.plate.glass).index(rig.laser.wavelength_m)
    etching = Etching(
        setting=SETTING, depth_per_pass_m=DEPTH_PER_PASS_M, spot_radius_m=22e-6, threshold_share=0.1,
        index=index,
    )  # fmt: skip
    draws = draw_prior(BENCH, DRAWS, np.random.default_rng(1))
    rng = np.random.default_rng(2)
    scene = scene_at(BENCH, plan_part(shapes, rig=rig, etching=etching).passes, rig.scanner, draws[:2],
                     middle_m=CORNER_M, side_m=SIDE_M, index=index)  # fmt: skip
    look_closely(scene, rng)
    start_s = time.process_time()
    plan = plan_part(shapes, rig=rig, etching=etching)
    scene = scene_at(BENCH, plan.passes, rig.scanner, draws, middle_m=CORNER_M, side_m=SIDE_M, index=index)
    seen = look_closely(scene, rng)
    took_s = (time.process_time() - start_s) / THREADS
    name = f"none; {DRAWS} draws of {seen.pulses} pulses"
    return row(name="part_demo", value=took_s, unit="s", peer=name, ratio=took_s, goal=("at most", 60.0))
