"""Give invented views for the tests of pictures, and read drawn coordinates back."""

import re
from dataclasses import replace
from typing import Any
from xml.etree import ElementTree

import numpy as np

from farface.kernel import parse_quantity
from farface.records import How, Known
from farface.report.depth_cut import DepthCut
from farface.report.learned import Band, LearnedRow, LearnedView
from farface.report.plan_view import PlanShape, PlanView
from farface.report.section import SectionView
from farface.report.strip import CavitySpan, StripView
from farface.report.window_map import ChosenPoint, WindowAxis, WindowView

HOSTILE = "<script>alert(1)</script>\" onload='x' & ]]> --> \x00\x0b"
Element = ElementTree.Element


def known(value: float, sd: float = 0.0, how: How = "measured") -> Known:
    return Known(value=value, sd=sd, how=how)


def section_view(**changes: Any) -> SectionView:
    view = SectionView(
        title="0.5 mJ at 40 kHz",
        invented=True,
        calibrated=False,
        thickness_m=known(1.1e-3, 2e-5),
        spot_radius_m=known(20e-6, 1e-6),
        cone_half_angle_rad=5 / 160,
        index=1.47,
        absorption_length_m=known(1e-3, 2e-5),
        pitch_m=15e-6,
        liquid_depth_m=12e-3,
        column_m=known(300e-6, 5e-6),
        bubble_radius_m=known(270e-6, 5e-6),
        etched_m=known(40e-6, 1e-6),
        camera_field_m=(6e-3, 3.6e-3),
    )
    return replace(view, **changes)


def strip_view(**changes: Any) -> StripView:
    pulses = np.arange(6) * 25e-6
    view = StripView(
        title="Six pulses",
        invented=True,
        calibrated=False,
        pulse_times_s=pulses,
        trace_times_s=np.linspace(0.0, 150e-6, 400),
        trace_rise_k=np.linspace(0.0, 250.0, 400),
        threshold_rise_k=known(280.0, 28.0, "assumed"),
        ignition_times_s=pulses[[1]],
        cavities=(CavitySpan(open_s=25e-6, close_s=85e-6, radius_max_m=270e-6),),
        deposit_times_s=pulses,
        deposit_loading=np.linspace(0.0, 0.1, 6),
        removal_m=np.array([0.0, 0.0, 40e-9, 60e-9, 0.0, 0.0]),
        frame_times_s=np.array([10e-6, 43e-6, 76e-6, 109e-6]),
        exposure_s=5e-6,
        film_flashes_s=(27e-6,),
        film_bubbles=(CavitySpan(open_s=28e-6, close_s=90e-6, radius_max_m=250e-6),),
    )
    return replace(view, **changes)


def window_view(**changes: Any) -> WindowView:
    x, y = np.linspace(0.1, 1.0, 7), np.linspace(10.0, 100.0, 6)
    drive = np.log(np.outer(y, x) / 15.0)
    odds = np.exp(-((drive[:, :, None] - np.array([-1.6, -0.6, 0.1, 0.7, 1.1, 1.6])) ** 2))
    depth = 1e-6 * np.exp(drive)
    view = WindowView(
        title="Energy and rate",
        invented=True,
        calibrated=True,
        x=WindowAxis(name="pulse energy", unit="mJ", values=tuple(x)),
        y=WindowAxis(name="rate", unit="kHz", values=tuple(y)),
        odds=odds / odds.sum(axis=2, keepdims=True),
        depth_median_m=depth,
        depth_low_m=0.5 * depth,
        depth_high_m=2.0 * depth,
        margin=1.3 * np.exp(-drive),
        points=(ChosenPoint(x=0.4, y=46.0, label="part"),),
    )
    return replace(view, **changes)


def learned_view(**changes: Any) -> LearnedView:
    wide, narrow = Band(low=0.1, median=0.5, high=2.5), Band(low=0.4, median=0.5, high=0.62)
    rows = (
        LearnedRow(
            name="threshold", meaning="where removal starts", unit="J/cm2", prior=wide, posterior=narrow
        ),
        LearnedRow(name="passivation", meaning="the acid's skin", unit="", prior=wide, posterior=wide),
    )
    return replace(LearnedView(title="One coupon", invented=True, rows=rows), **changes)


def plan_view(**changes: Any) -> PlanView:
    square = np.array([[0.0, 0.0], [9e-3, 0.0], [9e-3, 6e-3], [0.0, 6e-3]])
    along = np.linspace(0.0, 11e-3, 120)
    wanted = np.where((along > 1e-3) & (along < 10e-3), 100e-6, 0.0)
    cut = DepthCut(
        start_m=(-1e-3, 3e-3),
        end_m=(10e-3, 3e-3),
        along_m=along,
        wanted_m=wanted,
        tolerance_m=5e-6,
        median_m=1.02 * wanted,
        low_m=0.8 * wanted,
        high_m=1.3 * wanted,
    )
    view = PlanView(
        title="Chamber",
        invented=True,
        calibrated=True,
        shapes=(PlanShape(name="field", kind="pocket", depth_m=100e-6, rings_m=(square,)),),
        passes_m=(hatch(width_m=9e-3, lines=40, gap_m=150e-6),),
        cut=cut,
    )
    return replace(view, **changes)


def hatch(*, width_m: float, lines: int, gap_m: float) -> np.ndarray:
    along = np.linspace(0.0, width_m, 50)
    rows = [np.column_stack([along[:: 1 - 2 * (k % 2)], np.full(50, k * gap_m)]) for k in range(lines)]
    return np.vstack(rows)


def drawn(svg: str) -> Element:
    """Parse a picture; not well-formed XML fails here."""
    return ElementTree.fromstring(svg)


def found(root: Element, name: str) -> list[Element]:
    """Find elements by one of their classes, without its ``ff-``."""
    return [node for node in root.iter() if f"ff-{name}" in node.get("class", "").split()]


def tag(node: Element) -> str:
    return node.tag.rpartition("}")[2]


def words(root: Element) -> str:
    return " ".join(node.text or "" for node in root.iter() if tag(node) == "text")


def points(node: Element) -> np.ndarray:
    """Read the points of a path of straight lines, shape (n, 2)."""
    numbers = [float(x) for x in re.findall(r"-?\d+\.?\d*", node.get("d", ""))]
    return np.array(numbers).reshape(-1, 2)


def scales_px_per_m(root: Element) -> list[float]:
    """Read the scale of each panel off its scale bar, as a person with a ruler would."""
    scales = []
    for bar in found(root, "scale-bar"):
        ends = points(found(bar, "bar")[0])
        length_m = parse_quantity(words(bar), "m")
        scales.append(float(ends[1, 0] - ends[0, 0]) / length_m)
    return scales


def shape(root: Element, name: str) -> Element:
    """Find the filled shape of a part: its only rectangle, circle or path."""
    parts = [n for part in found(root, name) for n in part.iter() if tag(n) in ("rect", "circle")]
    return parts[0]
