"""Bound what an hour at a setting takes out of the bath."""

import math

from farface.app.answer import Answer, plain
from farface.app.draws import current_draws
from farface.app.settings import Typed, setting_of, show_setting
from farface.app.titles import titled
from farface.app.workbench import Workbench
from farface.etch.explain import Explanation, explain
from farface.kernel import show_quantity
from farface.materials.aqueous import ZERO_CELSIUS_K
from farface.optics.spot import rig_shares
from farface.prepare.recipe import bath_density_kg_per_m3
from farface.prepare.wear import HOUR_S, RENEW_SHARE, Wear, wear
from farface.report.content import Table

_ROOM_K = 20.0 + ZERO_CELSIUS_K


def bath_wear(work: Workbench, typed: Typed) -> Answer:
    """Say when to renew the bath at a setting: copper spent, water boiled off, warming; upper bounds."""
    etch = work.etch()
    draws = current_draws(work, etch)
    setting = setting_of(work.rig, typed)
    told = explain(etch, setting, draws.values)
    flash_hz = _flash_rate_hz(told)
    spent = wear(
        work.bath,
        flash_rate_hz=flash_hz,
        spot_radius_m=etch.spot_radius_m.value,
        column_m=told.step("superheated column").median,
        absorbed_w=setting.pulse_energy_j * setting.rate_hz * rig_shares(work.rig).entering_share,
        surface_m2=work.rig.cell.width_m**2,
        density_kg_per_m3=bath_density_kg_per_m3(work.bath, temperature_k=_ROOM_K),
    )
    answer = Answer(
        title=titled(work, f"Wear of the bath at {show_setting(setting)}, {draws.basis}"),
        sentences=(_renew_words(spent), _water_words(spent)),
        tables=(
            Table(
                caption="The most that an hour of firing can take",
                header=_HEADER,
                rows=_rows(spent, flash_hz),
            ),
        ),
        data={"setting": plain(setting), "wear": plain(spent), "flash_rate_hz": flash_hz},
    )
    work.publish("wear", answer, inputs=draws.inputs, request={"typed": plain(typed)})
    return answer


_HEADER = ("what", "value", "from")


def _flash_rate_hz(told: Explanation) -> float:
    interval = told.step("pulses between flashes").median
    return told.setting.rate_hz / interval if math.isfinite(interval) and interval > 0.0 else 0.0


def _renew_words(spent: Wear) -> str:
    if not math.isfinite(spent.renew_s):
        return "Nothing ignites at this setting, so no copper is spent: renew the bath when it clouds."
    return (
        f"Renew the bath after {spent.renew_s / HOUR_S:.2g} h of firing at the latest: "
        f"{100 * RENEW_SHARE:.0f} % of its copper could be gone by then. Sooner when it clouds, or a "
        "reading of its absorption is off by as much."
    )


def _water_words(spent: Wear) -> str:
    return (
        "Look at the level every few minutes and top up with distilled water, not with bath: only water "
        f"leaves. At most it falls by {show_quantity(spent.level_drop_m_per_s * 60.0, 'm', digits=2)} a "
        f"minute, or the bath warms by {spent.warming_k_per_s * 60.0:.2g} K a minute; pause when it feels "
        "warm."
    )


def _rows(spent: Wear, flash_hz: float) -> tuple[tuple[str, str, str], ...]:
    hour = f"{100 * spent.copper_share_per_hour:.2g} % of the bath's"
    return (
        ("flashes", f"{flash_hz:.0f} a second", "pulses between flashes, median"),
        ("copper spent", f"{spent.copper_mol_per_s * HOUR_S * 1e3:.3g} mmol, {hour}",
         "all copper of each superheated column"),
        ("water boiled off", f"{spent.water_kg_per_s * HOUR_S * 1e3:.3g} g", "all light's heat makes steam"),
        ("warming", f"{spent.warming_k_per_s * 60:.2g} K a minute", "all light's heat stays in the bath"),
    )  # fmt: skip
