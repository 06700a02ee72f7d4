"""Hold an invented rig, a small part and its draft, for the tests of plans, gate and writers."""

import numpy as np

from farface.part.passes import Etching, PartPlan, plan_part
from farface.part.shapes import Shape
from farface.records import (
    Camera,
    Cell,
    Confirmation,
    Draft,
    HazardAnswer,
    Known,
    Laser,
    Lens,
    Plate,
    Rig,
    Scanner,
    Setting,
)
from farface.safety.gate import REQUIRED_STATEMENT, Cleared, clear
from farface.safety.hazard_items import hazard_items

LASER = Laser(
    wavelength_m=1064e-9, pulse_s=8e-9, rated_power_w=20.0, rated_energy_j=1e-3, corner_hz=20e3,
    rate_min_hz=10e3, rate_max_hz=200e3, m2=1.4,
)  # fmt: skip
RIG = Rig(
    name="test bench",
    invented=True,
    laser=LASER,
    lens=Lens(focal_m=0.1, beam_radius_m=2.5e-3),
    scanner=Scanner(field_m=0.06, mark_max_m_per_s=2.0, jump_m_per_s=4.0, settle_s=1e-3),
    plate=Plate(glass="borosilicate", thickness_m=Known(value=1.1e-3), width_m=0.025, height_m=0.075),
    cell=Cell(width_m=0.05, height_m=0.1, liquid_depth_m=0.02),
    camera=Camera(frame_hz=1e4, exposure_s=1e-5, pixel_m=1e-5, width_px=320, height_px=192),
)
SETTING = Setting(pulse_energy_j=2e-4, rate_hz=40e3, pulses_per_point=4, pitch_m=15e-6, passes=1)
ETCHING = Etching(
    setting=SETTING, depth_per_pass_m=4e-6, spot_radius_m=20e-6, threshold_share=0.05, index=1.46
)
ANSWERS = tuple(
    HazardAnswer(item=item.key, answer="done", initials="AT", at_utc="2024-05-01T09:30:00Z")
    for item in hazard_items()
)
CONFIRMATION = Confirmation(
    person="A. Tester", at_utc="2024-05-01T10:00:00Z", statement=REQUIRED_STATEMENT, answers=ANSWERS
)


def rectangle(width: float, height: float, *, x: float = 0.0, y: float = 0.0) -> np.ndarray:
    """Return the corners of a rectangle around (x, y)."""
    return np.array([x, y]) + 0.5 * np.array(
        [[-width, -height], [width, -height], [width, height], [-width, height]]
    )


FIELD = Shape(name="field", kind="pocket", paths_m=(rectangle(1e-3, 0.5e-3),), depth_m=30e-6)
RULE = Shape(name="rule", kind="line", paths_m=(np.array([[-1e-3, 1e-3], [1e-3, 1e-3]]),), depth_m=10e-6)
COVER = Shape(name="cover", kind="cut", paths_m=(rectangle(4e-3, 4e-3),), depth_m=None)


def plan() -> PartPlan:
    """Plan the small part: a pocket, a line and a cut."""
    return plan_part([COVER, RULE, FIELD], rig=RIG, etching=ETCHING)


def draft() -> Draft:
    """Make the draft of the small part."""
    return plan().draft(name="chamber", rig=RIG, break_risk=0.02, pierce_risk=0.01)


def cleared() -> Cleared:
    """Pass the draft of the small part through the gate."""
    return clear(draft(), RIG, CONFIRMATION, accepted_break_risk=0.05, accepted_pierce_risk=0.05)
