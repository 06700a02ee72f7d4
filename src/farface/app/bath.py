"""Explain a bath: how far light reaches into it, and what to weigh for it."""

from farface.app.answer import Answer, plain, show_known
from farface.app.workbench import Workbench
from farface.heat.closed import pulse_heating_k
from farface.kernel import show_quantity
from farface.materials import absorber, liquid
from farface.optics.bath import absorption_length_m, absorption_per_m, require_dissolved, salt_kg
from farface.records import Bath, Known
from farface.report.content import Table

# One joule per square centimetre, the unit in which heating is told.
UNIT_FLUENCE_J_PER_M2 = 1e4
_HEADER = ("what", "value", "from")


def explain_bath(work: Workbench) -> Answer:
    """Read the bath, say what it absorbs and how much salt makes it, and record it."""
    answer = look_at_bath(work.bath, work.rig.laser.wavelength_m)
    work.publish("bath", answer, request={})
    return answer


def look_at_bath(bath: Bath, wavelength_m: float) -> Answer:
    """Say what a bath absorbs, what heats it, and how much salt makes it; nothing is recorded."""
    require_dissolved(bath.copper_mol_per_m3)
    alpha = absorption_per_m(bath, wavelength_m=wavelength_m)
    salt = salt_kg(salt=bath.salt, copper_mol_per_m3=bath.copper_mol_per_m3, volume_m3=bath.volume_m3)
    return Answer(
        title=f"Bath: {bath.name}",
        sentences=_sentences(bath, alpha, salt),
        tables=(Table(caption="What the bath takes up", header=_HEADER, rows=_rows(bath, alpha, salt)),),
        data={
            "absorption_per_m": plain(alpha), "absorption_length_m": plain(absorption_length_m(alpha)),
            "salt_kg": salt, "salt": bath.salt, "copper_mol_per_m3": bath.copper_mol_per_m3,
            "acid_mol_per_m3": bath.acid_mol_per_m3, "volume_m3": bath.volume_m3,
            "heating_k_at_1e4_j_per_m2": _unit_heating_k(alpha.value),
        },
    )  # fmt: skip


def _sentences(bath: Bath, alpha: Known, salt: float) -> tuple[str, ...]:
    length_m = absorption_length_m(alpha).value
    said = (
        f"The bath leaves 37 % of the light at a depth of {show_quantity(length_m, 'm')}.",
        f"Weigh {salt * 1e3:.2f} g of {bath.salt.replace('_', ' ')} for {bath.volume_m3 * 1e6:.0f} mL.",
    )
    if alpha.how == "measured":
        return said
    return (
        *said,
        "The absorption is computed from a default: a cuvette or power-meter reading through the bath "
        "would narrow every prediction (bath.toml: absorption).",
    )


def _rows(bath: Bath, alpha: Known, salt: float) -> tuple[tuple[str, str, str], ...]:
    source = absorber("copper_sulfate").source("molar_absorption_m2_per_mol")
    return (
        ("copper", show_quantity(bath.copper_mol_per_m3, "mol/m3"), "bath.toml"),
        ("phosphoric acid", show_quantity(bath.acid_mol_per_m3, "mol/m3"), "bath.toml"),
        ("absorption (natural)", show_known(alpha, "1/m"), "bath.toml" if bath.absorption_per_m else source),
        ("absorption length", show_known(absorption_length_m(alpha), "m"), "1/alpha"),
        ("heating by 1 J/cm2", f"{_unit_heating_k(alpha.value):.2f} K", "alpha F / (rho c)"),
        ("volume", f"{bath.volume_m3 * 1e6:.0f} mL", "bath.toml"),
        ("salt to weigh", f"{salt * 1e3:.2f} g of {bath.salt.replace('_', ' ')}", "molar mass"),
        ("age", f"{bath.age_s / 3600:.1f} h", "bath.toml"),
    )


def _unit_heating_k(alpha_per_m: float) -> float:
    water = liquid("water")
    return pulse_heating_k(
        absorption_per_m=alpha_per_m,
        fluence_j_per_m2=UNIT_FLUENCE_J_PER_M2,
        density_kg_per_m3=water.density_kg_per_m3,
        heat_capacity_j_per_kg_k=water.heat_capacity_j_per_kg_k,
    )
