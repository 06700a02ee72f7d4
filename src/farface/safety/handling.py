"""Say in plain words how to handle what the bath is made of, what it gives off, and what is left over.

Common practice, no source, after the tone of the chemical safety cards named with each substance. The data
sheet of the person's own supplier and local rules stand above every line here.
"""

from dataclasses import dataclass
from typing import Final, Literal

from farface.safety.cautions import SHEETS, WASTE_RULES, WORKPLACE

Topic = Literal["first aid", "wear", "air", "spill", "storage", "label", "waste"]
TOPICS: Final[tuple[Topic, ...]] = ("first aid", "wear", "air", "spill", "storage", "label", "waste")


@dataclass(frozen=True, slots=True, kw_only=True)
class Handling:
    """Hold one line on handling: its topic, what it is about, what to do, and whom it defers to."""

    topic: Topic
    about: str
    text: str
    defers_to: str = SHEETS


def _aid(about: str, text: str) -> Handling:
    return Handling(topic="first aid", about=about, text=text)


HANDLING: Final[tuple[Handling, ...]] = (
    _aid(
        "eyes: copper sulfate or acid",
        "Rinse at once with plenty of running water for 15 minutes or more, lids held open, contact "
        "lenses out if that is easy; call an ambulance or go to an eye doctor at once, and take the "
        "label along.",
    ),
    _aid(
        "skin: acid",
        "Take off wetted clothes, rinse with plenty of water for 15 minutes, then seek medical advice "
        "for any burn. Copper sulfate: wash with soap and water.",
    ),
    _aid(
        "swallowed",
        "Rinse the mouth, give a glass of water to one who is awake, never make them vomit, call the "
        "poison centre or an ambulance at once.",
    ),
    _aid(
        "breathed in: sulfur oxides",
        "Stop the laser, leave the room, sit upright in fresh air. Seek a doctor for any cough or "
        "tightness: lungs can swell hours later.",
    ),
    _aid(
        "glass needles, fibres and dust",
        "Do not rub. Lift needles out of skin with tape or tweezers under a lens; wash eyes with water "
        "and let a doctor look for what is left. Dust breathed in: fresh air.",
    ),
    _aid(
        "eyes: light",
        "Any flash, spot or blur after a shot, or none but a suspicion: stop, keep the person from using "
        "that eye, and go to an eye clinic on the same day with wavelength and pulse energy written down.",
    ),
    Handling(
        topic="wear",
        about="hands and body",
        text="Nitrile gloves that are changed when wetted, a coat with closed sleeves, closed shoes; over "
        "them cut-resistant gloves for broken plates.",
    ),
    Handling(
        topic="wear",
        about="eyes",
        text="Closed splash goggles for mixing and cleaning. While the laser can fire, laser eyewear "
        "instead, and the splash is kept off by the cover: one pair does not do the other's work.",
    ),
    Handling(
        topic="air",
        about="sulfur oxides and spray",
        text="Draw the air away at the cell, out of the building or through a filter that takes acid gases. "
        "A dust filter lets sulfur oxides through. A sharp smell means: stop.",
    ),
    Handling(
        topic="air",
        about="etched-glass dust",
        text="Wipe wet, bag the wipes. No brush, no compressed air, no household vacuum cleaner.",
        defers_to=WORKPLACE,
    ),
    Handling(
        topic="spill",
        about="the bath",
        text="Laser off. Goggles and gloves on. Bind with absorbent, strew sodium bicarbonate on acid "
        "until it stops foaming, take it up into the copper waste, wipe wet twice. Keep it out of drains "
        "and soil.",
    ),
    Handling(
        topic="storage",
        about="bath, salt and acid",
        text="Closed plastic bottles in a tray, locked, below eye height, cool but not where it freezes: "
        "in the cold salt settles out. Acid apart from bases and metals. No drink bottles, ever.",
    ),
    Handling(
        topic="label",
        about="every bottle, the cell and the waste",
        text="Name of what is in it and how strong, hazard words and symbols of the data sheets, date, "
        "owner.",
    ),
    Handling(
        topic="waste",
        about="copper",
        text="Spent bath, rinse water, wipes and gloves that met copper: one labelled, closed container for "
        "copper-bearing acid waste, never to the drain, handed over under local rules.",
        defers_to=WASTE_RULES,
    ),
    Handling(
        topic="waste",
        about="glass",
        text="Wet and broken glass: a rigid container marked sharp and copper-bearing, closed when three "
        "quarters full, handed over with the rest.",
        defers_to=WASTE_RULES,
    ),
)


# What etching leaves is no substance with a registry number, but it hurts. Common practice, no source.
LEAVINGS: Final[tuple[tuple[str, str], ...]] = (
    ("etched-glass needles and fibres", "Pierce skin and eyes, break off inside, too fine to see"),
    ("etched-glass needles and fibres", "Drift in the bath and dry onto bench, cell and wipes"),
    ("etched-glass dust", "Irritates eyes, skin and airways; harmful to breathe over years"),
)


def handling_of(topic: Topic) -> tuple[Handling, ...]:
    """Pick the lines of a topic."""
    return tuple(line for line in HANDLING if line.topic == topic)
