"""Write the set-up, run and clean-up sheets to print, with the bench's own numbers on them."""

from collections.abc import Callable
from pathlib import Path
from typing import Final

from farface.app.answer import Answer, plain
from farface.app.bench_cell import CellTyped, bench_cell
from farface.app.draws import current_draws, fit_named
from farface.app.focus import worked_field_m
from farface.app.hazards import DEFER, mirrored_shares, show_wavelength
from farface.app.pictures import section_view
from farface.app.settings import Typed, setting_of, show_setting
from farface.app.ticks import open_words, sheet_name, standing_answers
from farface.app.titles import titled
from farface.app.workbench import Workbench, now_utc
from farface.etch.explain import explain
from farface.files.atomic import write_atomically
from farface.kernel import show_quantity
from farface.prepare.fill import filling_advice
from farface.prepare.focus import focus_needs
from farface.records import Setting
from farface.report.cell_view import CellView, cell_caption, cell_svg
from farface.report.checklist import Box, CheckSheet, checklist_html
from farface.report.content import Picture, Table
from farface.report.section import section_caption, section_svg
from farface.safety.estimates import estimates
from farface.safety.exposure import NOT_A_CLEARANCE
from farface.safety.hazard_items import SHEETS, SheetName, items_of

Facts = tuple[tuple[str, str], ...]


def write_sheets(work: Workbench, typed: Typed, *, only: str | None = None) -> Answer:
    """Write the sheets, or ``only`` one of them; items that were ticked already carry their initials."""
    setting = setting_of(work.rig, typed)
    names = SHEETS if only is None else (sheet_name(only),)
    rests_on = fit_named(work)
    files, facts = [], {}
    for name in names:
        path = work.places.reports / f"{name}-sheet.html"
        sheet = _SHEETS[name](work, setting)
        write_atomically(path, checklist_html(sheet).encode())
        files.append(path)
        facts[name] = dict(sheet.facts)
    answer = Answer(
        title=titled(work, f"Sheets for {work.rig.name}"),
        sentences=(
            f"Print {_listed(files)}, one page each. Tick on paper, then record the ticks: farface tick "
            "SHEET --all --initials AB.",
            open_words(work),
        ),
        tables=tuple(_table(name) for name in names),
        data={"sheets": list(names), "setting": plain(setting), "facts": facts},
        files=tuple(files),
    )
    kept = tuple(work.keep(path, kind="sheet") for path in files)
    request = {"typed": plain(typed), "only": only}
    work.publish("sheets", answer, inputs=(*rests_on, *kept), request=request)
    return answer


def _listed(files: list[Path]) -> str:
    return ", ".join(path.name for path in files)


def _table(name: SheetName) -> Table:
    return Table(
        caption=f"The {name} sheet",
        header=("item", "what ticking it says", "must be answered"),
        rows=tuple((i.key, i.text, "before a plan is cleared" if i.hazard else "") for i in items_of(name)),
    )


def _set_up(work: Workbench, setting: Setting) -> CheckSheet:
    cell = bench_cell(work, CellTyped())
    view = CellView(title="The cell", invented=work.invented, plan=cell.plan)
    return CheckSheet(
        title="Set-up sheet",
        subtitle=_of_bench(work),
        invented=work.invented,
        facts=_set_up_facts(work, setting),
        boxes=_boxes(work, "set-up"),
        cautions=(
            "Class 4 laser, invisible beam. By estimate, not a clearance: eyewear of density "
            f"{_density(work, setting)} or more at {show_wavelength(work.rig.laser.wavelength_m)}.",
            "Acid and copper salt: goggles, gloves, tray; acid into water, never water into acid.",
            DEFER,
        ),
        notes=(
            "Heavy boxes must be answered before a plan is cleared; only the acid and working alone may be "
            "answered with a reason instead. Answers are good for 24 hours, for this rig and this bath.",
            *filling_advice(cell.filled)[:2],
        ),
        picture=Picture(caption=cell_caption(view), svg=cell_svg(view)),
        made_at=now_utc(),
    )


def _run(work: Workbench, setting: Setting) -> CheckSheet:
    return CheckSheet(
        title="Run sheet",
        subtitle=_of_bench(work),
        invented=work.invented,
        facts=(*_set_up_facts(work, setting), ("setting", show_setting(setting))),
        boxes=_boxes(work, "run"),
        cautions=(
            "Stop at once on: a sharp smell, smoke, a crack, a flash that grows, liquid outside the "
            "tray, a door that opens.",
            "The plate may burst minutes after the last pulse. Keep the lid shut until five minutes are "
            "over.",
            DEFER,
        ),
        notes=("Write down while it runs: time, cell or pass, what was seen, film, level topped up by.",),
        lines=9,
        picture=_section(work, setting),
        blanks=("name", "initials", "date", "start", "end"),
        made_at=now_utc(),
    )


def _clean_up(work: Workbench, setting: Setting) -> CheckSheet:
    bath = work.bath
    return CheckSheet(
        title="Clean-up sheet",
        subtitle=_of_bench(work),
        invented=work.invented,
        facts=(
            (
                "bath",
                f"{bath.volume_m3 * 1e6:.0f} mL, copper {show_quantity(bath.copper_mol_per_m3, 'mol/m3')}",
            ),
            ("acid", show_quantity(bath.acid_mol_per_m3, "mol/m3")),
        ),
        boxes=_boxes(work, "clean-up"),
        cautions=(
            "Nothing that met copper goes to the drain: bath, rinse water, wipes and gloves are "
            "collected, labelled and handed over under local rules.",
            "Etched glass leaves needles and fibres too fine to see: wipe wet, no brush, no compressed "
            "air, never with bare hands.",
            "Splash in the eye: rinse at once for 15 minutes, lids open, then an eye doctor, with the label.",
            "The supplier's data sheets and local codes stand above this sheet.",
        ),
        notes=("Volume of waste added, plates kept, anything unusual:",),
        lines=6,
        blanks=("name", "initials", "date", "waste container no."),
        made_at=now_utc(),
    )


_SHEETS: Final[dict[SheetName, Callable[[Workbench, Setting], CheckSheet]]] = {
    "set-up": _set_up,
    "run": _run,
    "clean-up": _clean_up,
}


def _section(work: Workbench, setting: Setting) -> Picture:
    """Draw the section at the setting, as far as it is known."""
    etch = work.etch()
    draws = current_draws(work, etch)
    told = explain(etch, setting, draws.values)
    view = section_view(work, etch, told, calibrated=draws.calibrated)
    return Picture(caption=section_caption(view), svg=section_svg(view))


def _of_bench(work: Workbench) -> str:
    return f"{work.rig.name}; {work.bath.name}"


def _boxes(work: Workbench, name: SheetName) -> tuple[Box, ...]:
    """Give the items of a sheet; an answer that still stands is printed beside its box."""
    standing = {answer.item: answer for answer in standing_answers(work)}

    def ticked(key: str) -> str:
        answer = standing.get(key)
        if answer is None:
            return ""
        return f"{answer.initials} {answer.at_utc[11:16]}" + (f" ({answer.reason})" if answer.reason else "")

    return tuple(
        Box(key=item.key, group=item.group, text=item.text, must=item.hazard, ticked=ticked(item.key))
        for item in items_of(name)
    )


def _set_up_facts(work: Workbench, setting: Setting) -> Facts:
    rig = work.rig
    needs = focus_needs(rig, field_m=worked_field_m(rig, None))
    filled = bench_cell(work, CellTyped()).filled
    drop = show_quantity(needs.lens_drop_m.value, "m", digits=4)
    return (
        ("plate", f"{rig.plate.glass.replace('_', ' ')}, {show_quantity(rig.plate.thickness_m.value, 'm')}"),
        ("fill", f"{filled.volume_m3 * 1e6:.1f} mL"),
        ("level above the floor", show_quantity(filled.level_m, "m", digits=4)),
        ("level may fall", show_quantity(filled.may_fall_m, "m", digits=2)),
        ("lower the lens by", f"{drop}, to within {show_quantity(needs.tolerance_m, 'm', digits=2)}"),
        ("tilt allowed", f"{1e3 * needs.tilt_rad:.2g} mrad"),
        (
            "energy, rate",
            f"{show_quantity(setting.pulse_energy_j, 'J')}, {show_quantity(setting.rate_hz, 'Hz')}",
        ),
        ("eyewear", f"density {_density(work, setting)} or more ({NOT_A_CLEARANCE})"),
    )


def _density(work: Workbench, setting: Setting) -> str:
    found = estimates(
        work.rig.laser,
        work.rig.lens,
        pulse_energy_j=setting.pulse_energy_j,
        rate_hz=setting.rate_hz,
        mirrored_shares=mirrored_shares(work.rig),
    )
    return f"{found.beam.eyewear.optical_density:.1f}"
