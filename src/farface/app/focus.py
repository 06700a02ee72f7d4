"""Tell how to find the far face, how well, and check it by a ladder of focus heights."""

import math
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np

from farface.app.answer import Answer, plain, show_known
from farface.app.coupon import lay_out_settings
from farface.app.coupon_order import PlateOrder
from farface.app.settings import Typed, setting_of
from farface.app.titles import titled
from farface.app.workbench import Workbench
from farface.files.outcomes_file import read_outcomes
from farface.kernel import parse_quantity, show_quantity
from farface.materials import glass
from farface.optics.beam import rayleigh_range_m
from farface.optics.plate import focus_spread_m
from farface.optics.spot import far_face_spot, spot_radius_m
from farface.prepare.focus import FocusNeeds, LadderReading, focus_needs, read_ladder, require_reach
from farface.prepare.front_face import bearable_j_per_m2, front_standing
from farface.records import Rig, Setting
from farface.report.content import Table

RUNGS: Final = 9
REPEATS: Final = 2
LADDER_RANGES: Final = 2.0  # Rayleigh ranges to each side at most
# Of the plate's thickness at most: a focus near the front face would mark that instead.
LADDER_SHARE: Final = 0.7
# What a plate loses at its edges to rails and the room for bubbles beside them: common practice, no source.
EDGES_M: Final = 12e-3
_HEADER = ("what", "value", "from")


@dataclass(frozen=True, slots=True, kw_only=True)
class FocusTyped:
    """Hold what was typed: the field worked, what slide and lens allow, a ladder to run or read."""

    field: str | None = None
    travel: str | None = None
    working_distance: str | None = None
    ladder: str | None = None
    read: Path | None = None


def explain_focus(work: Workbench, typed: FocusTyped, shot: Typed) -> Answer:
    """Say how far to lower the lens, how exactly, how level the plate lies, what the front face bears."""
    rig = work.rig
    setting = setting_of(rig, shot)
    field_m = worked_field_m(rig, typed.field)
    needs = focus_needs(rig, field_m=field_m)
    rim_m = rig.cell.height_m - rig.cell.liquid_depth_m - rig.plate.thickness_m.value
    require_reach(
        drop_m=needs.lens_drop_m.value,
        travel_m=_length(typed.travel, "the slide's travel"),
        working_m=_length(typed.working_distance, "the working distance"),
        cover_above_m=max(0.0, rim_m),
    )
    ladder = None if typed.ladder is None else _lay_out_ladder(work, setting, typed.ladder)
    read = None if typed.read is None else _read(typed.read)
    answer = Answer(
        title=titled(work, "Focus on the far face"),
        sentences=(*_sentences(needs, field_m), *_ladder_words(rig, ladder, read)),
        tables=(
            Table(caption="Focus and level", header=_HEADER, rows=_focus_rows(rig, needs, field_m)),
            Table(caption="The front face", header=_HEADER, rows=_front_rows(rig, setting)),
        ),
        data={
            "needs": plain(needs), "field_m": field_m, "setting": plain(setting),
            "front_j_per_m2": far_face_spot(rig, setting).front_j_per_m2,
            "ladder": None if read is None else plain(read),
        },
        files=() if ladder is None else ladder.files,
    )  # fmt: skip
    kept = () if typed.read is None else (work.keep(typed.read, kind="ladder"),)
    request = {
        "typed": plain(replace(typed, ladder=None, read=None)), "shot": plain(shot),
        "ladder": None if typed.read is None else typed.read.name,
    }  # fmt: skip
    work.publish("focus", answer, inputs=kept, request=request)
    return answer


def worked_field_m(rig: Rig, typed: str | None) -> float:
    """Give the field that is worked: as typed, else what the plate leaves free and the scanner reaches."""
    if typed is not None:
        return parse_quantity(typed, "m", what="the field")
    plate = rig.plate
    free_m = min(plate.width_m, plate.height_m) - EDGES_M
    return min(rig.scanner.field_m, free_m if free_m > 0.0 else 0.5 * min(plate.width_m, plate.height_m))


def _length(text: str | None, what: str) -> float | None:
    return None if text is None else parse_quantity(text, "m", what=what)


def _lay_out_ladder(work: Workbench, setting: Setting, name: str) -> Answer:
    """Write a coupon whose cells differ only in the height of the focus, around the far face."""
    index = glass(work.rig.plate.glass).index(work.rig.laser.wavelength_m)
    reach_m = min(
        LADDER_RANGES * _rayleigh_m(work.rig) * index, LADDER_SHARE * work.rig.plate.thickness_m.value
    )
    offsets = np.linspace(-reach_m, reach_m, RUNGS)
    rungs = tuple(replace(setting, passes=1, focus_offset_m=round(float(o), 7)) for o in offsets)
    return lay_out_settings(work, rungs, PlateOrder(name=name, repeats=REPEATS))


def _rayleigh_m(rig: Rig) -> float:
    return rayleigh_range_m(
        waist_m=spot_radius_m(rig).value, wavelength_m=rig.laser.wavelength_m, m2=rig.laser.m2
    )


def _read(path: Path) -> LadderReading:
    outcomes = read_outcomes(path).outcomes
    return read_ladder([o.setting.focus_offset_m for o in outcomes], [o.seen != "nothing" for o in outcomes])


def _sentences(needs: FocusNeeds, field_m: float) -> tuple[str, ...]:
    drop = needs.lens_drop_m
    across_m = math.tan(needs.tilt_rad) * field_m
    return (
        f"Focus on the front face, then lower the lens by {show_quantity(drop.value, 'm', digits=4)}, to "
        f"within {show_quantity(needs.tolerance_m, 'm', digits=2)}: the focus then lies on the far face.",
        f"Over {show_quantity(field_m, 'm')} the plate may tilt by {1e3 * needs.tilt_rad:.2g} mrad: focus "
        f"found at one end and at the other may differ by {show_quantity(across_m, 'm', digits=2)} of "
        "lens height.",
    )


def _ladder_words(rig: Rig, ladder: Answer | None, read: LadderReading | None) -> tuple[str, ...]:
    words = []
    if ladder is not None:
        words.append(
            f"The ladder has {RUNGS} heights, each {REPEATS} times. At an energy where only the middle "
            "ones mark, fill in its CSV and read it with --read."
        )
    if read is not None:
        words.append(_correction(rig, read))
    if not words:
        words.append("Check it by a ladder: --ladder F1 lays out a coupon of focus heights.")
    return tuple(words)


def _correction(rig: Rig, read: LadderReading) -> str:
    """Say how to move the lens so that the focus sits in the middle of the rungs that marked."""
    index = glass(rig.plate.glass).index(rig.laser.wavelength_m)
    move_m = read.middle_m.value / index
    doubt = show_quantity(read.middle_m.sd / index, "m", digits=2)
    marked = f"{read.marked} of {read.rungs} rungs marked"
    if abs(move_m) <= read.middle_m.sd / index:
        return f"{marked}, evenly around the far face: the lens stands right within {doubt}."
    way = "lower" if move_m > 0.0 else "raise"
    moved = show_quantity(abs(move_m), "m", digits=2)
    return f"{marked}: {way} the lens by {moved} (+/- {doubt}) more than by t/n."


def _focus_rows(rig: Rig, needs: FocusNeeds, field_m: float) -> tuple[tuple[str, str, str], ...]:
    sine = math.sin(math.atan(rig.lens.beam_radius_m / rig.lens.focal_m))
    index = glass(rig.plate.glass).index(rig.laser.wavelength_m)
    tilt = f"{1e3 * needs.tilt_rad:.2g} mrad over {show_quantity(field_m, 'm')}"
    spread_m = focus_spread_m(thickness_m=rig.plate.thickness_m.value, index=index, sine=sine)
    return (
        ("lower the lens by", show_known(needs.lens_drop_m, "m"), "t/n"),
        ("the spot (1/e2 radius)", show_known(spot_radius_m(rig), "m"), "rig.toml"),
        ("Rayleigh range, in air", show_quantity(_rayleigh_m(rig), "m"), "pi w2 / (M2 lambda)"),
        ("lens height to within", show_quantity(needs.tolerance_m, "m", digits=2), "spot a tenth wider"),
        ("tilt allowed", tilt, "the same, less t's doubt"),
        ("spherical aberration of the plate", show_quantity(spread_m, "m", digits=2), "smith2008"),
    )  # fmt: skip


def _front_rows(rig: Rig, setting: Setting) -> tuple[tuple[str, str, str], ...]:
    front = far_face_spot(rig, setting).front_j_per_m2
    pulse_s = rig.laser.pulse_s
    wide, clean = (bearable_j_per_m2(pulse_s, clean=clean) for clean in (False, True))
    low, high = (show_quantity(value, "J/m2", digits=2) for value in (wide, clean))
    energy = f"at {show_quantity(setting.pulse_energy_j, 'J')}"
    return (
        ("peak fluence there", show_quantity(front, "J/m2"), energy),
        ("glass bears", f"{low} (wide spots) to {high} (small spots, clean)", "from memory (surface_damage)"),
        ("so", front_standing(front, pulse_s=pulse_s), "clean the front face before each run"),
    )  # fmt: skip
