"""Let a draft through to the machine only when every limit holds and a person has confirmed the hazards.

Passing the gate means that the plan fits the rig's stated limits and the risks a person accepted. It is no
clearance of the bench: local rules, data sheets and the laser safety officer decide that.
"""

import math
from collections.abc import Iterator
from dataclasses import InitVar, dataclass, replace
from datetime import datetime, timedelta
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.kernel import Refused, show_quantity
from farface.optics.energy import pulse_energy_available_j
from farface.records import Confirmation, Draft, Rig, Setting
from farface.safety.hazard_items import hazard_reasons

REQUIRED_STATEMENT: Final = (
    "The laser is class 4: its beam is enclosed and interlocked, and everyone present wears eyewear rated"
    " for its wavelength. The bath stands in a tray under ventilation, with gloves, goggles and a spill kit"
    " at hand, and its safety data sheets have been read. Someone watches the whole run and can stop it."
    " Local rules and the responsible laser safety officer have been consulted."
)

# Settings and limits are typed in decimal: a limit met to the last digit is met.
_ROUNDING = 1e-9

_SEAL: Final = object()


@dataclass(frozen=True, slots=True, kw_only=True)
class Cleared:
    """Hold a draft that passed the gate, with the rig it was judged for and the person's confirmation.

    Only `clear` can make one; making, copying with changes or forging one elsewhere raises `Refused`.
    """

    draft: Draft
    rig: Rig
    confirmation: Confirmation
    seal: InitVar[object]

    def __post_init__(self, seal: object) -> None:
        """Refuse to exist without the seal that only this module holds."""
        if seal is not _SEAL:
            raise Refused("This plan has not passed the safety gate. Clear it with the rig's limits first.")


def clear(
    draft: Draft,
    rig: Rig,
    confirmation: Confirmation | None,
    *,
    accepted_break_risk: float,
    accepted_pierce_risk: float,
) -> Cleared:
    """Return the draft as a cleared plan whose points can no longer be changed.

    Raises `Refused` with every reason at once: energy, power, rate, speed, field, plate or depth beyond the
    rig; a risk above the accepted one; a confirmation that is missing or incomplete; a hazard item of the
    set-up sheet that nobody answered.
    """
    reasons = (
        *_plan_reasons(draft, rig),
        *(reason for setting in _settings(draft) for reason in _setting_reasons(setting, rig)),
        *_place_reasons(draft, rig),
        *_depth_reasons(draft, rig),
        *_focus_reasons(draft, rig),
        *_risk_reasons("breaking", draft.break_risk, accepted_break_risk),
        *_risk_reasons("piercing", draft.pierce_risk, accepted_pierce_risk),
        *_confirmation_reasons(confirmation),
    )
    if reasons or confirmation is None:
        listed = "; ".join(f"({n}) {reason}" for n, reason in enumerate(reasons, start=1))
        raise Refused(f'The plan "{draft.name}" is refused: {listed}. Put these right and ask again.')
    return Cleared(draft=_unchangeable(draft), rig=rig, confirmation=confirmation, seal=_SEAL)


def _plan_reasons(draft: Draft, rig: Rig) -> Iterator[str]:
    if draft.rig != rig.name:
        yield f'it was made for the rig "{draft.rig}", not for "{rig.name}"'
    if not draft.passes:
        yield "it has no passes"


def _settings(draft: Draft) -> tuple[Setting, ...]:
    """Return each different setting once, in order of use."""
    return tuple(dict.fromkeys(one.setting for one in draft.passes))


def _setting_reasons(setting: Setting, rig: Rig) -> Iterator[str]:
    laser, scanner = rig.laser, rig.scanner
    energy_j, rate_hz = setting.pulse_energy_j, setting.rate_hz
    numbers = (energy_j, rate_hz, setting.pitch_m, setting.pulses_per_point)
    if not all(math.isfinite(number) and number > 0.0 for number in numbers):
        yield "a setting has an energy, rate, pitch or pulse count that is not positive"
        return
    if not laser.rate_min_hz <= rate_hz <= laser.rate_max_hz:
        yield (
            f"a rate of {_show(rate_hz, 'Hz')}, but the rig's laser runs at"
            f" {_show(laser.rate_min_hz, 'Hz')} to {_show(laser.rate_max_hz, 'Hz')}"
        )
    elif energy_j > (allowed_j := pulse_energy_available_j(laser, rate_hz)) * (1.0 + _ROUNDING):
        yield (
            f"{_show(energy_j, 'J')} a pulse at {_show(rate_hz, 'Hz')}, but the rig's laser gives at most"
            f" {_show(allowed_j, 'J')} there"
        )
    if energy_j * rate_hz > laser.rated_power_w * (1.0 + _ROUNDING):
        yield (
            f"{_show(energy_j * rate_hz, 'W')} mean power, but the rig's laser is rated for"
            f" {_show(laser.rated_power_w, 'W')}"
        )
    speed = setting.pitch_m * rate_hz / setting.pulses_per_point
    if speed > scanner.mark_max_m_per_s * (1.0 + _ROUNDING):
        yield (
            f"a marking speed of {_show(speed, 'm/s')} (pitch x rate / pulses a point), but the rig's scanner"
            f" marks at up to {_show(scanner.mark_max_m_per_s, 'm/s')}"
        )


def _place_reasons(draft: Draft, rig: Rig) -> Iterator[str]:
    """Judge where the points lie; both field and plate are centred on the plate's middle."""
    frames = (
        ("the scanner's field", rig.scanner.field_m, rig.scanner.field_m),
        ("the plate", rig.plate.width_m, rig.plate.height_m),
    )
    by_layout = {id(one.points_m): one for one in draft.passes}
    for shape in dict.fromkeys(one.shape for one in by_layout.values()):
        points = [one.points_m for one in by_layout.values() if one.shape == shape]
        if not all(array.size and np.isfinite(array).all() for array in points):
            yield f'"{shape}" has a pass without points, or with a point that is no number'
            continue
        across, up = np.max([np.abs(array).max(axis=0) for array in points], axis=0)
        for what, width_m, height_m in frames:
            if across > 0.5 * width_m * (1.0 + _ROUNDING) or up > 0.5 * height_m * (1.0 + _ROUNDING):
                yield (
                    f'"{shape}" reaches {across * 1e3:.4g} mm sideways and {up * 1e3:.4g} mm up or down from'
                    f" the middle, but {what} ends at {500 * width_m:.4g} and {500 * height_m:.4g} mm"
                )


def _depth_reasons(draft: Draft, rig: Rig) -> Iterator[str]:
    thickness_m = rig.plate.thickness_m.value
    for wanted in draft.wanted:
        if wanted.kind != "cut" and not 0.0 < wanted.depth_m < thickness_m:
            yield (
                f'"{wanted.shape}" is to be {wanted.depth_m * 1e6:.4g} um deep, but the plate is'
                f" {thickness_m * 1e6:.4g} um thick"
            )


def _focus_reasons(draft: Draft, rig: Rig) -> Iterator[str]:
    thickness_m = rig.plate.thickness_m.value
    for number in [one.number for one in draft.passes if not 0.0 <= one.focus_drop_m <= thickness_m][:1]:
        yield f"pass {number} has a focus that does not lie between the plate's two faces"


def _risk_reasons(of: str, risk: float, accepted: float) -> Iterator[str]:
    # Written so that a risk that is no number fails.
    if not 0.0 <= accepted <= 1.0:
        yield f"the accepted risk of {of} is {accepted:g}, which is no probability"
    elif not 0.0 <= risk <= accepted:
        yield f"the risk of {of} is {100 * risk:.3g} %, above the accepted {100 * accepted:.3g} %"


def _confirmation_reasons(confirmation: Confirmation | None) -> Iterator[str]:
    if confirmation is None:
        yield "nobody has confirmed the cautions"
        return
    if not confirmation.person.strip():
        yield "the confirmation names no person"
    if confirmation.statement.split() != REQUIRED_STATEMENT.split():
        yield "the confirmation does not state the cautions in full"
    if not _is_utc(confirmation.at_utc):
        yield f'the confirmation\'s time is "{confirmation.at_utc}", which is no UTC time in ISO 8601'
        return
    yield from hazard_reasons(confirmation.answers, at_utc=confirmation.at_utc)


def _is_utc(text: str) -> bool:
    try:
        return datetime.fromisoformat(text).utcoffset() == timedelta(0)
    except ValueError:
        return False


def _unchangeable(draft: Draft) -> Draft:
    """Copy the points, shared arrays once, so that nothing can move them after they were judged."""
    copies: dict[int, NDArray[np.float64]] = {}
    for one in draft.passes:
        if id(one.points_m) not in copies:
            copy = one.points_m.copy()
            copy.setflags(write=False)
            copies[id(one.points_m)] = copy
    passes = tuple(replace(one, points_m=copies[id(one.points_m)]) for one in draft.passes)
    return replace(draft, passes=passes)


def _show(value: float, dimension: str) -> str:
    return show_quantity(value, dimension, digits=4)
