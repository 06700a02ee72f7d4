"""Turn what was read at a cell into a depth with its error, as the table of outcomes takes it."""

from dataclasses import dataclass
from typing import Final, Literal, get_args

import numpy as np

from farface.app.answer import Answer, plain, show_known
from farface.app.titles import titled
from farface.app.workbench import Workbench
from farface.kernel import Malformed, parse_quantity
from farface.materials import glass, liquid
from farface.optics.depth_reading import depth_by_focus, depth_by_weight, focus_factors
from farface.records import DepthMethod, Known
from farface.report.content import Table

Through = Literal["open", "glass", "liquid"]
# What a bench's balance repeats to. Common practice, no source.
BALANCE_KG: Final = 1e-7


@dataclass(frozen=True, slots=True, kw_only=True)
class DepthTyped:
    """Hold a reading as typed: focus travels and what they were seen through, or a loss over an area."""

    travel: tuple[str, ...] = ()
    through: str = "open"
    aperture: float = 0.25
    loss: str | None = None
    area: str | None = None


def read_depth(work: Workbench, typed: DepthTyped) -> Answer:
    """Say how deep a cell is, and what to write into its row."""
    if bool(typed.travel) == (typed.loss is not None):
        raise Malformed(
            "a depth is read by focus travel or by weight. Give one, such as "
            '--travel "31 um" --travel "33 um", or --loss "1.2 mg" --area "81 mm2".'
        )
    method: DepthMethod = "focus_travel" if typed.travel else "weight_loss"
    depth, how = _by_focus(work, typed) if typed.travel else _by_weight(work, typed)
    answer = Answer(
        title=titled(work, f"A depth of {show_known(depth, 'm')}"),
        sentences=(
            f"Write into the cell's row: depth_um {depth.value * 1e6:.3g}, depth_sd_um "
            f"{max(depth.sd * 1e6, 0.01):.2g}, depth_method {method}.",
        ),
        tables=(Table(caption="How it was read", header=("what", "value", "from"), rows=how),),
        data={"depth_m": plain(depth), "method": method},
    )
    work.publish("depth", answer, request={"typed": plain(typed)})
    return answer


def _by_focus(work: Workbench, typed: DepthTyped) -> tuple[Known, tuple[tuple[str, str, str], ...]]:
    if typed.through not in get_args(Through):
        media = ", ".join(get_args(Through))
        raise Malformed(f'"{typed.through}" is nothing to look through. Choose one of: {media}.')
    travels_m = np.array([parse_quantity(text, "m", what="the travel") for text in typed.travel])
    wavelength_m = work.rig.laser.wavelength_m
    index = {
        "open": 1.0,
        "glass": glass(work.rig.plate.glass).index(wavelength_m),
        "liquid": liquid("water").index(wavelength_m),
    }[typed.through]
    depth = depth_by_focus(travels_m, index=index, aperture_sine=typed.aperture)
    low, high = focus_factors(index=index, aperture_sine=typed.aperture)
    return depth, (
        ("focus travel", show_known(Known(value=float(travels_m.mean())), "m"), f"{len(travels_m)} readings"),
        ("seen through", typed.through, f"index {index:.3f}, at the laser's wavelength"),
        ("depth over travel", f"{low:.3f} to {high:.3f}", "paraxial to marginal rays, galbraith1955"),
    )


def _by_weight(work: Workbench, typed: DepthTyped) -> tuple[Known, tuple[tuple[str, str, str], ...]]:
    if typed.loss is None or typed.area is None:
        raise Malformed('a loss of weight needs the etched area too. Give it, such as --area "81 mm2".')
    loss_kg = parse_quantity(typed.loss, "kg", what="the loss of weight")
    area_m2 = parse_quantity(typed.area, "m2", what="the etched area")
    density = glass(work.rig.plate.glass).density_kg_per_m3
    # Two weighings.
    loss = Known(value=loss_kg, sd=2.0**0.5 * BALANCE_KG, how="measured")
    depth = depth_by_weight(loss, area_m2=area_m2, density_kg_per_m3=density)
    return depth, (
        ("lost", f"{loss_kg * 1e6:.4g} mg", "two weighings to 0.1 mg each: common practice"),
        ("over", f"{area_m2 * 1e6:.4g} mm2", "as typed"),
        ("density of the glass", f"{density:.4g} kg/m3", work.rig.plate.glass),
    )
