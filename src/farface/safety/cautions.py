"""Hold the cautions in plain words, by subject, and pick those that belong to a stage of the work.

None of them replaces local codes, the suppliers' data sheets or the responsible laser safety officer.
They are the usual practice of the trade (common practice, no source), except where a key is given.
"""

from dataclasses import dataclass
from typing import Final, Literal

Subject = Literal["beam", "glass", "bath", "vapours", "splash", "breaking", "waste"]
Stage = Literal["bench", "coupon", "part"]
SUBJECTS: Final[tuple[Subject, ...]] = ("beam", "glass", "bath", "vapours", "splash", "breaking", "waste")
STAGES: Final[tuple[Stage, ...]] = ("bench", "coupon", "part")

_FIRING: Final[frozenset[Stage]] = frozenset({"coupon", "part"})
_ALWAYS: Final[frozenset[Stage]] = frozenset(STAGES)
_SETTING_UP: Final[frozenset[Stage]] = frozenset({"bench"})

OFFICER: Final = "the responsible laser safety officer and the laser codes that hold where you work"
SHEETS: Final = "the data sheets of your own suppliers and the chemical rules that hold where you work"
WASTE_RULES: Final = "the waste rules that hold where you work and whoever collects your chemical waste"
WORKPLACE: Final = "the workplace rules that hold where you work"


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """Hold one caution: what can happen and what to do, the stages it belongs to, and whom it defers to."""

    subject: Subject
    text: str
    stages: frozenset[Stage]
    defers_to: str


def _caution(subject: Subject, stages: frozenset[Stage], defers_to: str, text: str) -> Caution:
    return Caution(subject=subject, text=text, stages=stages, defers_to=defers_to)


CAUTIONS: Final[tuple[Caution, ...]] = (
    _caution(
        "beam",
        _ALWAYS,
        OFFICER,
        "A class 4 infrared beam is invisible and blinds at once, also by reflection: enclose it, with "
        "interlocks on every door, and let nobody look in along the beam.",
    ),
    _caution(
        "beam",
        _ALWAYS,
        OFFICER,
        "Wear eyewear whose label names this wavelength, pulsed light and enough optical density; the "
        "density that farface computes is an estimate, not a clearance.",
    ),
    _caution(
        "beam",
        _FIRING,
        OFFICER,
        "Both faces of the plate and the liquid's surface throw part of the beam back and aside; light that "
        "passes the bath reaches the bottom of the cell: put a beam stop there.",
    ),
    _caution(
        "beam",
        _SETTING_UP,
        OFFICER,
        "Aim and focus with the pilot light or at the lowest energy, with the room cleared and no ring, "
        "watch or bare tool in the beam's way.",
    ),
    _caution(
        "beam",
        _FIRING,
        OFFICER,
        "The beam can set things alight: never leave it firing alone, and keep an extinguisher at hand.",
    ),
    _caution(
        "glass",
        _ALWAYS,
        WORKPLACE,
        "Edges of slides and thin sheets cut: handle them by the long sides, with cut-resistant gloves when "
        "a plate has been scored, etched or broken.",
    ),
    _caution(
        "bath",
        _ALWAYS,
        SHEETS,
        "Copper sulfate is harmful if swallowed, causes serious eye damage and is very toxic to aquatic "
        "life: goggles, gloves, no food or drink, wash hands.",
    ),
    _caution(
        "bath",
        _ALWAYS,
        SHEETS,
        "Phosphoric acid is corrosive to skin, eyes and metals: pour acid into water, never water into acid, "
        "and keep running water or an eyewash within reach.",
    ),
    _caution(
        "vapours",
        _FIRING,
        SHEETS,
        "Where the beam decomposes the sulfate, sulfur oxides leave it, which burn eyes and airways: work "
        "under extraction, and stop if you smell anything sharp.",
    ),
    _caution(
        "splash",
        _FIRING,
        SHEETS,
        "Bursting bubbles throw droplets of salt and acid onto lens, camera and face: cover the cell, shield "
        "the lens, wear goggles under the shield.",
    ),
    _caution(
        "breaking",
        _FIRING,
        WORKPLACE,
        "A plate can crack or burst while it is fired at and for minutes after, from stress left in it: keep "
        "the lid shut until the run has ended, and lift the plate with tongs.",
    ),
    _caution(
        "breaking",
        _FIRING,
        WORKPLACE,
        "Etched glass leaves needles and fibres too fine to see, in the bath and on the bench: wipe wet, "
        "never with bare hands, never blow with compressed air.",
    ),
    _caution(
        "waste",
        _ALWAYS,
        WASTE_RULES,
        "Collect everything that held copper, rinse water and wipes included, in a labelled container and "
        "hand it over under local rules: never to the drain.",
    ),
    _caution(
        "waste",
        _FIRING,
        WASTE_RULES,
        "Broken glass wetted by the bath is sharp and copper-bearing: put it in a rigid, labelled container, "
        "apart from household glass.",
    ),
)


def cautions_for(stage: Stage) -> tuple[Caution, ...]:
    """Pick the cautions of a stage, in the order of `SUBJECTS`."""
    return tuple(
        caution
        for subject in SUBJECTS
        for caution in CAUTIONS
        if caution.subject == subject and stage in caution.stages
    )
