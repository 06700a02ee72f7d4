"""Show bath.toml as a form, say beside each number what follows from it, and save what was typed."""

import math
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Final

from farface.app.answer import Answer, plain, show_known
from farface.app.bath import explain_bath, look_at_bath
from farface.app.bench_file import Edited, clash, keep_and_write, version_of
from farface.app.explain import look_at_section
from farface.app.new_bench import demo_bath, opened_or_made
from farface.app.rig import explain_rig
from farface.app.rig_beside import heating_k
from farface.app.settings import Typed, setting_of
from farface.app.typed_fields import (
    Field,
    Group,
    emptied,
    group_texts,
    known_field,
    quantity_field,
    read_typed,
)
from farface.app.workbench import Workbench, open_workbench
from farface.files.bath_file import bath_from, bath_text, read_bath
from farface.files.bath_keys import ABSORPTION, ACID, AGE, CONCENTRATION, MOLAR_ABSORPTION, VOLUME
from farface.kernel import FarfaceError, show_number, show_quantity
from farface.materials import absorber
from farface.optics.bath import absorption_length_m, absorption_per_m, salt_kg
from farface.records import Bath, Rig, Setting

FILE: Final = "bath.toml"
SALT_WORDS: Final = (
    ("copper_sulfate_pentahydrate", "copper sulfate, blue (pentahydrate)"),
    ("copper_sulfate_anhydrous", "copper sulfate, white (anhydrous)"),
)


def bath_groups(bath: Bath) -> tuple[Group, ...]:
    """Lay a bath out as the fields of a form."""
    name = Field(name="bath-name", label="name", text=bath.name)
    invented = Field(name="bath-invented", label="this bath is invented", text="", ticked=bath.invented)
    salt = Field(name="bath-salt", label="salt, as weighed", text=bath.salt, choices=SALT_WORDS)
    return (
        Group(name="bath", heading="Bath", fields=(name, invented)),
        Group(name="bath", heading="What was dissolved", fields=(
            salt,
            quantity_field("bath", CONCENTRATION, bath.copper_mol_per_m3),
            quantity_field("bath", ACID, bath.acid_mol_per_m3),
            quantity_field("bath", VOLUME, bath.volume_m3),
            quantity_field("bath", AGE, bath.age_s),
        )),
        Group(name="bath", heading="How strongly it absorbs", fields=(
            known_field("bath", ABSORPTION, bath.absorption_per_m),
            known_field("bath", MOLAR_ABSORPTION, bath.molar_absorption_m2_per_mol),
        )),
    )  # fmt: skip


def read_typed_bath(texts: Mapping[str, str], old: Bath) -> tuple[Bath | None, dict[str, str]]:
    """Read a bath as typed, and give a sentence for each field that is refused."""
    return read_typed(texts, bath_groups(old), lambda tables: bath_from(tables, file=FILE), file=FILE)


def look_at_new_bath() -> Answer:
    """Show the empty form of a bath, with the demo's numbers as examples that are not taken."""
    form = {"version": "", "groups": plain(emptied(bath_groups(demo_bath()))), "beside": {}}
    return Answer(
        title="Your bath",
        sentences=("Say what you dissolved and what a reading showed. Grey figures are examples only.",),
        data={"form": form, "new": True},
    )


def look_at_bath_form(work: Workbench, typed: Typed) -> Answer:
    """Show the bath as a form with what follows from each number; nothing is recorded."""
    answer = look_at_bath(work.bath, work.rig.laser.wavelength_m)
    form = {
        "version": version_of(work.places.bath),
        "groups": plain(bath_groups(work.bath)),
        "beside": beside_bath(work.rig, work.bath, setting_of(work.rig, typed)),
    }
    return replace(answer, data={**answer.data, "form": form, "invented": work.bath.invented})


def try_bath(work: Workbench, typed: Typed, texts: Mapping[str, str]) -> Answer:
    """Say what would follow from a bath as typed, and draw its section; nothing is recorded or written."""
    bath, errors = read_typed_bath(texts, work.bath)
    names = [field.name for group in bath_groups(work.bath) for field in group.fields]
    if bath is None:
        return Answer(title="Bath as typed", data={"errors": errors, "beside": {}, "names": names})
    tried = replace(work, bath=bath)
    beside = beside_bath(work.rig, bath, setting_of(work.rig, typed))
    answer = look_at_section(tried, typed)
    return replace(answer, data={**answer.data, "errors": errors, "beside": beside, "names": names})


def save_bath(folder: Path, texts: Mapping[str, str], *, version: str, journal: str | None) -> Edited:
    """Write bath.toml as typed and record the bath, unless a field is refused or the file has changed."""
    places = opened_or_made(folder)
    old = read_bath(places.bath) if places.bath.is_file() else demo_bath()
    found = clash(places.bath, version, texts, group_texts(bath_groups(old)))
    if found is not None:
        return found
    bath, errors = read_typed_bath(texts, old)
    if bath is None or errors:
        return Edited(errors=errors)
    keep_and_write(places, places.bath, bath_text(bath), journal=journal)
    if places.rig.is_file():
        with open_workbench(folder, journal=journal) as work:
            if work.journal.latest("rig") is None:
                explain_rig(work, Typed())
            explain_bath(work)
    return Edited(errors={})


def beside_bath(rig: Rig, bath: Bath, setting: Setting) -> dict[str, str]:
    """Give the words for each field that has a consequence worth telling, by the field's name."""
    wavelength_m = rig.laser.wavelength_m
    alpha = absorption_per_m(bath, wavelength_m=wavelength_m)
    computed = absorption_per_m(replace(bath, absorption_per_m=None), wavelength_m=wavelength_m)
    length = absorption_length_m(alpha)
    half_m = math.log(2.0) * length.value
    source = absorber("copper_sulfate").source("molar_absorption_m2_per_mol")
    told = {
        "bath-salt": _salt_words(bath),
        "bath-concentration": f"half the light is gone after {show_quantity(half_m, 'm')}",
        "bath-absorption": _absorption_words(bath, show_known(computed, "1/m"), show_known(length, "m")),
        "bath-molar_absorption": f"left empty: the default of {source}, loosely known",
        "bath-volume": f"fills the cell {show_quantity(_level_m(rig, bath), 'm')} high",
    }  # fmt: skip
    rise_k = heating_k(rig, bath, setting)
    told["bath-absorption"] += (
        f"; a pulse of {show_quantity(setting.pulse_energy_j, 'J')} heats it by {show_number(rise_k, 3)} K"
    )
    return told


def _salt_words(bath: Bath) -> str:
    try:
        mass_kg = salt_kg(salt=bath.salt, copper_mol_per_m3=bath.copper_mol_per_m3, volume_m3=bath.volume_m3)
    except FarfaceError as error:
        return str(error)
    return f"weigh {1e3 * mass_kg:.2f} g for {1e6 * bath.volume_m3:.0f} mL"


def _absorption_words(bath: Bath, computed: str, length: str) -> str:
    if bath.absorption_per_m is None:
        return f"left empty: copper and water give {computed}; absorption length {length}"
    return f"absorption length {length}; copper and water alone would give {computed}"


def _level_m(rig: Rig, bath: Bath) -> float:
    """Give how high the bath stands in a cell with a square floor, with nothing else in it."""
    return bath.volume_m3 / rig.cell.width_m**2
