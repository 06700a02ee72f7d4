"""Read what the person measured of the beam, spot or energy, and say what to write into rig.toml."""

from collections.abc import Callable
from pathlib import Path
from typing import Final

from farface.app.answer import Answer, plain
from farface.app.workbench import Workbench
from farface.files.measured_table import Kind, MeasuredTable, read_measured
from farface.kernel import show_quantity
from farface.optics.caustic import fit_caustic
from farface.optics.diameters import fit_diameters
from farface.optics.energy import pulse_energy_available_j
from farface.optics.incubation import fit_incubation
from farface.optics.knife_edge import fit_knife_edge
from farface.optics.meter import meter_table
from farface.report.content import Table

_HEADER = ("what", "value", "from")
_ENERGIES = ("rate", "energy of a pulse", "against")


def read_spot(work: Workbench, path: Path) -> Answer:
    """Read a measured table by its columns: marks (D^2), a blade, a caustic, a power meter, incubation."""
    measured = read_measured(path)
    told = _READ[measured.kind](work, measured)
    kept = work.keep(path, kind="measured")
    work.publish("measured", told, inputs=(kept,), request={"measured": path.name})
    return told


def _marks(work: Workbench, table: MeasuredTable) -> Answer:
    found = fit_diameters(energies_j=table.first_values, diameters_m=table.second_values)
    return Answer(
        title="Spot from the diameters of marks",
        sentences=(_write_down(found.radius_m, found.radius_sd_m),),
        tables=(
            Table(
                caption=f"D^2 = 2 w^2 ln(E / E_th), {table.first_values.size} marks",
                header=_HEADER,
                rows=(
                    ("spot radius (1/e2)", _with_sd(found.radius_m, found.radius_sd_m), "liu1982"),
                    ("marks vanish at", show_quantity(found.threshold_j, "J"), "the line's zero"),
                    ("peak fluence there", show_quantity(found.threshold_j_per_m2, "J/m2"), "2E/(pi w2)"),
                ),
            ),
        ),
        data={"kind": table.kind, "fit": plain(found)},
    )


def _blade(work: Workbench, table: MeasuredTable) -> Answer:
    found = fit_knife_edge(positions_m=table.first_values, powers_w=table.second_values)
    return Answer(
        title="Spot from a blade across the beam",
        sentences=(_write_down(found.radius_m, found.radius_sd_m),),
        tables=(
            Table(
                caption=f"P = dark + full erfc(sqrt 2 (x - x0) / w) / 2, {table.first_values.size} places",
                header=_HEADER,
                rows=(
                    (
                        "spot radius (1/e2), across the edge",
                        _with_sd(found.radius_m, found.radius_sd_m),
                        "fit",
                    ),
                    ("middle of the beam", show_quantity(found.middle_m, "m"), "fit"),
                    ("whole power", show_quantity(found.full_w, "W"), "fit"),
                    ("misfit", f"{100 * found.misfit:.2g} % of the whole power", "root mean square"),
                ),
            ),
        ),
        data={"kind": table.kind, "fit": plain(found)},
    )


def _caustic(work: Workbench, table: MeasuredTable) -> Answer:
    found = fit_caustic(
        positions_m=table.first_values, radii_m=table.second_values, wavelength_m=work.rig.laser.wavelength_m
    )
    return Answer(
        title="Spot from a caustic",
        sentences=(
            _write_down(found.waist_m, found.waist_sd_m),
            f"Beam quality M2 is {found.m2:.3g}; rig.toml has {work.rig.laser.m2:.3g}.",
        ),
        tables=(
            Table(
                caption=f"w^2 over height, {table.first_values.size} places",
                header=_HEADER,
                rows=(
                    ("waist (1/e2 radius)", _with_sd(found.waist_m, found.waist_sd_m), "iso11146"),
                    ("height of the waist", show_quantity(found.waist_at_m, "m", digits=4), "iso11146"),
                    ("beam quality M2", f"{found.m2:.3g}", "iso11146"),
                    ("Rayleigh range", show_quantity(found.rayleigh_m, "m"), "iso11146"),
                    ("misfit", show_quantity(found.residual_m, "m", digits=2), "root mean square"),
                ),
            ),
        ),
        data={"kind": table.kind, "fit": plain(found)},
    )


def _meter(work: Workbench, table: MeasuredTable) -> Answer:
    found = meter_table(work.rig.laser, rates_hz=table.first_values, powers_w=table.second_values)
    laser = work.rig.laser
    rows, shares = [], []
    for rate_hz, energy_j in zip(found.rates_hz.tolist(), found.energies_j.tolist(), strict=True):
        inside = laser.rate_min_hz <= rate_hz <= laser.rate_max_hz
        stated_j = pulse_energy_available_j(laser, rate_hz) if inside else None
        shares += [] if stated_j is None else [energy_j / stated_j]
        share = "" if stated_j is None else f"{100 * energy_j / stated_j:.0f} % of rig.toml's"
        of = share or "outside rig.toml's rates"
        rows.append((show_quantity(rate_hz, "Hz"), show_quantity(energy_j, "J"), of))
    least = f"{100 * min(shares):.0f} to {100 * max(shares):.0f} %" if shares else "none"
    return Answer(
        title="Pulse energy by the meter",
        sentences=(
            f"Measured pulses carry {least} of what rig.toml lets the laser give: state what reaches the "
            "plate, behind scanner and lens. Energy is never carried on beyond the rates that were read.",
        ),
        tables=(Table(caption="E = P / f", header=_ENERGIES, rows=tuple(rows)),),
        data={"kind": table.kind, "rates_hz": plain(found.rates_hz), "energies_j": plain(found.energies_j)},
    )


def _incubation(work: Workbench, table: MeasuredTable) -> Answer:
    found = fit_incubation(pulses=table.first_values, thresholds_j=table.second_values)
    power = f"{found.incubation_exponent:.3g} +/- {found.exponent_sd:.2g}"
    return Answer(
        title="Incubation from thresholds at several counts of pulses",
        sentences=(
            f"E_th(N) = {show_quantity(found.single_j, 'J')} x N^(S - 1), S = {power}. No unknown of the "
            "model rests on it: it says how far marks of single pulses understate what many do.",
        ),
        tables=(
            Table(
                caption=f"ln E_th over ln N, {table.first_values.size} thresholds",
                header=_HEADER,
                rows=(
                    ("incubation exponent S", power, "jee1988"),
                    ("threshold of one pulse", show_quantity(found.single_j, "J"), "the line at N = 1"),
                ),
            ),
        ),
        data={"kind": table.kind, "fit": plain(found)},
    )


_READ: Final[dict[Kind, Callable[[Workbench, MeasuredTable], Answer]]] = {
    "marks": _marks,
    "blade": _blade,
    "caustic": _caustic,
    "meter": _meter,
    "incubation": _incubation,
}


def _with_sd(value_m: float, sd_m: float) -> str:
    return f"{show_quantity(value_m, 'm')} +/- {show_quantity(sd_m, 'm', digits=2)}"


def _write_down(radius_m: float, sd_m: float) -> str:
    return (
        f'Write into rig.toml, under [spot]: radius = "{radius_m * 1e6:.3g} um +/- '
        f'{max(sd_m * 1e6, 0.01):.2g} um measured".'
    )
