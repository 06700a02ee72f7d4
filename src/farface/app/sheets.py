"""Set the printed sheets: instructions for one run, with its cautions."""

from farface.app.answer import show_known
from farface.app.workbench import Workbench
from farface.coupon.bench_sheet import bench_sheet_rows
from farface.coupon.drawing import coupon_svg
from farface.coupon.layout import Coupon
from farface.kernel import show_quantity
from farface.optics.spot import rig_lens_drop_m
from farface.report.content import Cautions, Picture, SheetContent, Table
from farface.report.page import sheet_html
from farface.safety.cautions import Stage, cautions_for


def bench_sheet(work: Workbench, coupon: Coupon, *, calibrated: bool) -> str:
    """Set a coupon's bench sheet: steps, cells in the order of running, cautions."""
    rows = tuple(
        (
            str(row.order),
            row.cell,
            row.pulse_energy,
            row.rate,
            row.pulses_per_point,
            row.pitch,
            row.passes,
            "",
        )
        for row in bench_sheet_rows(coupon)
    )
    header = ("turn", "cell", "energy", "rate", "pulses", "pitch", "passes", "seen, depth, note")
    return sheet_html(
        SheetContent(
            title=f"Bench sheet: coupon {coupon.plate}",
            invented=coupon.invented,
            calibrated=calibrated,
            cells=Table(header=header, rows=rows),
            cautions=stage_cautions("coupon"),
            subtitle=f"{work.rig.name}; {work.bath.name}",
            picture=Picture(caption="Places as the laser sees them", svg=coupon_svg(coupon)),
            steps=preparing_steps(work),
        )
    )


def preparing_steps(work: Workbench) -> tuple[str, ...]:
    """Say how to set plate, level and focus before a run."""
    drop = rig_lens_drop_m(work.rig)
    plate = work.rig.plate
    return (
        f"Lay the plate ({plate.glass.replace('_', ' ')}, {show_known(plate.thickness_m, 'm')}) on its posts "
        "and fill until the bath just wets its lower face; tilt it in to let no bubble stay below.",
        f"Focus on the front face, then lower the lens by {show_quantity(drop.value, 'm', digits=4)} "
        f"(+/- {show_quantity(drop.sd, 'm', digits=2)}).",
        "Run the cells in the order of their turns; stop at once when a cell runs away or the plate cracks.",
    )


def stage_cautions(stage: Stage) -> tuple[Cautions, ...]:
    """Gather the cautions of a stage by subject, each subject ending with those who decide."""
    texts: dict[str, list[str]] = {}
    deciders: dict[str, dict[str, None]] = {}
    for caution in cautions_for(stage):
        texts.setdefault(caution.subject, []).append(caution.text)
        deciders.setdefault(caution.subject, {})[f"Defer to {caution.defers_to}."] = None
    return tuple(
        Cautions(heading=subject, notes=(*said, *deciders[subject])) for subject, said in texts.items()
    )
