"""The gate: what passes, what is refused and for which reasons, and that nothing gets around it."""

import copy
import math
from dataclasses import replace

import numpy as np
import pytest

from farface.kernel import Refused
from farface.records import Confirmation, Draft, Pass, Rig
from farface.safety.gate import REQUIRED_STATEMENT, Cleared, clear
from plan_records import CONFIRMATION, RIG, cleared, draft


def refusal(of: Draft, rig: Rig = RIG, by: Confirmation | None = CONFIRMATION, risk: float = 0.05) -> str:
    with pytest.raises(Refused) as refused:
        clear(of, rig, by, accepted_break_risk=risk, accepted_pierce_risk=risk)
    return str(refused.value)


def changed(**setting: float) -> Draft:
    """Change the setting of every pass."""
    passes = tuple(replace(one, setting=replace(one.setting, **setting)) for one in draft().passes)
    return replace(draft(), passes=passes)


def moved(by: float) -> Draft:
    first = draft().passes[0]
    return replace(draft(), passes=(replace(first, points_m=first.points_m + np.array([by, 0.0])),))


def test_a_plan_within_every_limit_passes() -> None:
    passed = cleared()
    assert passed.rig is RIG
    assert passed.confirmation is CONFIRMATION
    assert passed.draft.wanted == draft().wanted
    assert all(
        np.array_equal(ours.points_m, theirs.points_m)
        for ours, theirs in zip(passed.draft.passes, draft().passes, strict=True)
    )


def test_limits_met_to_the_last_digit_pass() -> None:
    # 20 W at 40 kHz is 0.5 mJ; 15 um at 40 kHz, 4 pulses a point, is 0.15 m/s.
    tight = replace(RIG, scanner=replace(RIG.scanner, mark_max_m_per_s=0.15))
    clear(
        changed(pulse_energy_j=20.0 / 40e3),
        tight,
        CONFIRMATION,
        accepted_break_risk=0.02,
        accepted_pierce_risk=0.01,
    )


@pytest.mark.parametrize(
    ("setting", "reason"),
    [
        ({"pulse_energy_j": 0.51e-3}, "510.0 uJ a pulse at 40.00 kHz, but the rig's laser gives at most 500"),
        ({"pulse_energy_j": 0.51e-3}, "20.40 W mean power, but the rig's laser is rated for 20.00 W"),
        ({"pulse_energy_j": 1.1e-3, "rate_hz": 10e3}, "1.100 mJ a pulse at 10.00 kHz"),
        ({"rate_hz": 9e3}, "a rate of 9.000 kHz, but the rig's laser runs at 10.00 kHz to 200.0 kHz"),
        ({"rate_hz": 201e3, "pulse_energy_j": 1e-5}, "a rate of 201.0 kHz"),
        ({"pitch_m": 1e-3}, "a marking speed of 10000 mm/s"),
        ({"pulse_energy_j": math.nan}, "not positive"),
        ({"pulse_energy_j": -1e-4}, "not positive"),
        ({"pitch_m": 0.0}, "not positive"),
        ({"pulses_per_point": 0}, "not positive"),
    ],
)  # fmt: skip
def test_a_setting_beyond_the_rig_is_refused(setting: dict[str, float], reason: str) -> None:
    assert reason in refusal(changed(**setting))


def test_points_beyond_field_or_plate_are_refused() -> None:
    text = refusal(moved(0.04))
    assert "the scanner's field ends at 30 and 30 mm" in text
    assert "the plate ends at 12.5 and 37.5 mm" in text


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_points_that_are_no_numbers_are_refused(bad: float) -> None:
    assert "no number" in refusal(moved(bad))


def test_an_empty_pass_or_an_empty_plan_is_refused() -> None:
    empty = replace(draft().passes[0], points_m=np.empty((0, 2)))
    assert "without points" in refusal(replace(draft(), passes=(empty,)))
    assert "no passes" in refusal(replace(draft(), passes=()))


def test_a_pocket_through_the_plate_is_refused() -> None:
    first, *rest = draft().wanted
    assert "1100 um thick" in refusal(replace(draft(), wanted=(replace(first, depth_m=1.1e-3), *rest)))


@pytest.mark.parametrize("drop", [-1e-6, 1.2e-3, math.nan])
def test_a_focus_outside_the_plate_is_refused(drop: float) -> None:
    first = replace(draft().passes[0], focus_drop_m=drop)
    assert "pass 1 has a focus" in refusal(replace(draft(), passes=(first, first)))


def test_a_plan_for_another_rig_is_refused() -> None:
    assert 'made for the rig "other"' in refusal(replace(draft(), rig="other"))


@pytest.mark.parametrize("risk", [0.051, 1.0, math.nan, -0.1])
def test_a_risk_above_the_accepted_one_is_refused(risk: float) -> None:
    assert "the risk of breaking" in refusal(replace(draft(), break_risk=risk))
    assert "the risk of piercing" in refusal(replace(draft(), pierce_risk=risk))


@pytest.mark.parametrize("accepted", [math.nan, -0.1, 1.1])
def test_an_accepted_risk_must_be_a_probability(accepted: float) -> None:
    assert "no probability" in refusal(draft(), risk=accepted)


@pytest.mark.parametrize(
    ("confirmation", "reason"),
    [
        (None, "nobody has confirmed"),
        (replace(CONFIRMATION, person="  "), "names no person"),
        (replace(CONFIRMATION, statement="ok"), "does not state the cautions in full"),
        (replace(CONFIRMATION, statement=REQUIRED_STATEMENT[:-30]), "does not state the cautions in full"),
        (replace(CONFIRMATION, at_utc="yesterday"), "no UTC time"),
        (replace(CONFIRMATION, at_utc="2024-05-01T10:00:00"), "no UTC time"),
        (replace(CONFIRMATION, at_utc="2024-05-01T10:00:00+02:00"), "no UTC time"),
    ],
)
def test_a_confirmation_must_be_complete(confirmation: Confirmation | None, reason: str) -> None:
    assert reason in refusal(draft(), by=confirmation)


def test_a_statement_may_be_wrapped_differently() -> None:
    wrapped = replace(CONFIRMATION, statement=REQUIRED_STATEMENT.replace(". ", ".\n  "))
    clear(draft(), RIG, wrapped, accepted_break_risk=0.05, accepted_pierce_risk=0.05)


def test_every_reason_is_given_at_once() -> None:
    bad = replace(changed(pulse_energy_j=5e-3), rig="other", break_risk=0.5, pierce_risk=0.5)
    text = refusal(bad, by=None)
    for number, part in enumerate(
        ('"other"', "a pulse", "mean power", "breaking", "piercing", "nobody has confirmed"), start=1
    ):
        assert f"({number})" in text
        assert part in text
    assert "(7)" not in text


def test_each_reason_is_given_once_for_all_passes() -> None:
    assert refusal(changed(pulse_energy_j=0.51e-3)).count("mean power") == 1


def test_only_the_gate_makes_a_cleared_plan() -> None:
    with pytest.raises(Refused, match="has not passed"):
        Cleared(draft=draft(), rig=RIG, confirmation=CONFIRMATION, seal=object())
    with pytest.raises(TypeError):
        Cleared(draft=draft(), rig=RIG, confirmation=CONFIRMATION)
    with pytest.raises((Refused, ValueError)):
        replace(cleared(), draft=changed(pulse_energy_j=5e-3))


def test_a_cleared_plan_cannot_be_changed() -> None:
    passed = copy.deepcopy(cleared())
    with pytest.raises(AttributeError):
        passed.draft = draft()
    with pytest.raises(ValueError, match="read-only"):
        cleared().draft.passes[0].points_m[0] = 1.0


def test_what_was_judged_does_not_follow_later_changes_of_the_draft() -> None:
    points = np.array([[0.0, 0.0], [1e-5, 0.0]])
    first = draft().passes[0]
    plan = replace(draft(), passes=(replace(first, points_m=points), replace(first, points_m=points)))
    passed = clear(plan, RIG, CONFIRMATION, accepted_break_risk=0.05, accepted_pierce_risk=0.05)
    points += 1.0
    one, other = passed.draft.passes
    assert one.points_m.max() == 1e-5
    assert one.points_m is other.points_m


def test_a_pass_is_what_the_gate_thinks_it_is() -> None:
    # A field that is added to passes or settings must be judged, or left out on purpose.
    assert set(Pass.__slots__) == {"number", "shape", "kind", "setting", "points_m", "focus_drop_m"}
