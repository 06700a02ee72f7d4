"""Frozen records that travel between the layers; they hold numbers in SI and compute nothing."""

from farface.records.bath import Bath, Salt
from farface.records.film import Bubble, FilmReading, FilmScale, Flash
from farface.records.known import How, Known
from farface.records.outcome import SEEN, DepthMethod, DepthReading, Outcome, Pierced, Seen
from farface.records.plan import Confirmation, Draft, HazardAnswer, Pass, PassKind, Wanted
from farface.records.rig import Camera, Cell, Laser, Lens, Plate, Rig, Scanner
from farface.records.setting import Setting

__all__ = [
    "SEEN",
    "Bath",
    "Bubble",
    "Camera",
    "Cell",
    "Confirmation",
    "DepthMethod",
    "DepthReading",
    "Draft",
    "FilmReading",
    "FilmScale",
    "Flash",
    "HazardAnswer",
    "How",
    "Known",
    "Laser",
    "Lens",
    "Outcome",
    "Pass",
    "PassKind",
    "Pierced",
    "Plate",
    "Rig",
    "Salt",
    "Scanner",
    "Seen",
    "Setting",
    "Wanted",
]
