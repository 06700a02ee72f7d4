"""Turn what a person asks of a coupon into its settings and the room of its cells."""

import math
from dataclasses import dataclass
from typing import Final, Literal, get_args

from farface.app.axis import knob_of
from farface.app.draws import current_draws
from farface.app.settings import Typed, setting_of
from farface.app.workbench import Workbench
from farface.coupon.design import factorial, spread
from farface.coupon.layout import CellRoom, CellShape, cells_that_fit
from farface.kernel import Malformed, NotConverged, OutOfRange, parse_quantity, show_quantity
from farface.learn.goal import Goal
from farface.learn.next_cells import propose
from farface.learn.plates import on_next_plate
from farface.optics.energy import pulse_energy_available_j
from farface.records import Rig, Setting

Design = Literal["factorial", "latin_hypercube", "sobol", "model"]

LEVELS: Final = 6
NAME_MOST: Final = 24
# What the model chooses among: so many levels of each setting, fewer of each where many are varied.
CHOICES: Final = 400
SPACINGS_M: Final = (4e-3, 3e-3, 2e-3, 1e-3)
SMALLEST_SPACING_M: Final = 0.5e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomTyped:
    """Hold the measures of a layout as typed; what is left out is chosen to suit the plate."""

    shape: str = "square"
    size: str = "2 mm"
    spacing: str | None = None
    margin: str = "2 mm"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateOrder:
    """Say how the settings of one plate are laid out; ``number`` counts the plates of a coupon from 0."""

    name: str
    repeats: int = 1
    blocks: int = 1
    number: int = 0
    room: RoomTyped = RoomTyped()


@dataclass(frozen=True, slots=True, kw_only=True)
class CouponOrder:
    """Say what a coupon should hold: its name, the settings to vary and how, repeats, blocks and plates.

    ``levels`` is how many of each setting a factorial combines, ``cells`` how many settings any other design
    tries. ``depth`` and ``risk`` are what the model chooses for. ``confirmed_by`` clears it for a machine,
    within ``risk`` in every cell.
    """

    name: str
    x: str = "energy"
    y: str = "pulses"
    also: tuple[str, ...] = ()
    design: str = "factorial"
    levels: int = LEVELS
    cells: int | None = None
    repeats: int = 1
    blocks: int = 1
    plates: int = 1
    room: RoomTyped = RoomTyped()
    depth: str = "100 um"
    risk: float = 0.3
    confirmed_by: str | None = None


def settings_of(work: Workbench, typed: Typed, order: CouponOrder) -> tuple[Setting, ...]:
    """List the settings that a design tries, in the design's own order."""
    if order.design not in get_args(Design):
        raise Malformed(f'"{order.design}" is no design. Choose one of: {", ".join(get_args(Design))}.')
    base = setting_of(work.rig, typed)
    texts = (order.x, order.y, *order.also)
    points = order.levels if order.design == "factorial" else max(3, round(CHOICES ** (1 / len(texts))))
    knobs = dict(knob_of(work.rig, base, text, points=points) for text in texts)
    if len(knobs) < len(texts):
        raise Malformed("a setting is to be varied twice. Name each of them once.")
    count = order.cells or order.levels**2
    if order.design == "factorial":
        return _given_by_the_laser(work.rig, factorial(base, knobs))
    if order.design == "model":
        return _chosen(work, factorial(base, knobs), count, order)
    ranges = {field: (values[0], values[-1]) for field, values in knobs.items()}
    how: Literal["latin_hypercube", "sobol"] = "sobol" if order.design == "sobol" else "latin_hypercube"
    return _given_by_the_laser(work.rig, spread(base, ranges, trials=count, how=how, rng=work.rng()))


def _spare_j(rig: Rig, setting: Setting) -> float:
    """Measure how much more energy the laser would give at a setting's rate."""
    return pulse_energy_available_j(rig.laser, setting.rate_hz) * (1.0 + 1e-9) - setting.pulse_energy_j


def _given_by_the_laser(rig: Rig, settings: tuple[Setting, ...]) -> tuple[Setting, ...]:
    """Return the settings, or refuse them when the laser cannot give one of them."""
    worst = min(settings, key=lambda setting: _spare_j(rig, setting))
    beyond = sum(_spare_j(rig, setting) < 0.0 for setting in settings)
    if beyond:
        available_j = pulse_energy_available_j(rig.laser, worst.rate_hz)
        raise OutOfRange(
            f"{beyond} of {len(settings)} settings ask for more than the rig's laser gives: one wants "
            f"{show_quantity(worst.pulse_energy_j, 'J')} at {show_quantity(worst.rate_hz, 'Hz')}, where it "
            f"gives {show_quantity(available_j, 'J')}. Give lower limits of energy or rate."
        )
    return settings


def _chosen(
    work: Workbench, candidates: tuple[Setting, ...], count: int, order: CouponOrder
) -> tuple[Setting, ...]:
    """Let the model choose the cells that would teach most within the risk accepted in any of them."""
    etch = work.etch()
    draws = current_draws(work, etch)
    goal = Goal(depth_m=parse_quantity(order.depth, "m", what="the wanted depth"), passes_at_most=300)
    proposals = propose(
        etch,
        on_next_plate(draws.values, work.rng()),
        [setting for setting in candidates if _spare_j(work.rig, setting) >= 0.0],
        count=count,
        accepted_risk=order.risk,
        goal=goal,
    )
    if not proposals:
        raise NotConverged(
            f"no cell stays within a risk of {100 * order.risk:.3g} %. Accept more, or give gentler limits."
        )
    return tuple(proposal.setting for proposal in proposals)


def room_of(rig: Rig, typed: RoomTyped, cells: int) -> CellRoom:
    """Measure out the cells, by themselves as far apart as the plate allows: heat and cracks reach over."""
    if typed.shape not in get_args(CellShape):
        raise Malformed(f'"{typed.shape}" is no shape of a cell. Choose {", ".join(get_args(CellShape))}.')
    size_m, margin_m = (
        parse_quantity(text, "m", what=f"the {what}")
        for text, what in ((typed.size, "size of a cell"), (typed.margin, "margin"))
    )
    given_m = None if typed.spacing is None else parse_quantity(typed.spacing, "m", what="the spacing")
    rooms = [
        CellRoom(
            size_m=size_m, spacing_m=spacing_m, margin_m=margin_m, field_m=rig.scanner.field_m,
            shape=next(shape for shape in get_args(CellShape) if shape == typed.shape),
        )
        for spacing_m in ((*SPACINGS_M, SMALLEST_SPACING_M) if given_m is None else (given_m,))
    ]  # fmt: skip
    return next((room for room in rooms if math.prod(cells_that_fit(rig.plate, room)) >= cells), rooms[-1])


def check_name(name: str) -> None:
    """Raise `Malformed` for a name that cannot stand in a file's name and be engraved."""
    if not name.replace("-", "").replace("_", "").isalnum() or len(name) > NAME_MOST:
        raise Malformed(
            f'"{name[:40]}" cannot name a coupon. Use letters, digits, "-" and "_", {NAME_MOST} at most.'
        )


def plate_names(name: str, plates: int) -> tuple[str, ...]:
    """Name the plates of a coupon: its own name, or that with a number behind it for several."""
    check_name(name)
    return (name,) if plates == 1 else tuple(f"{name}-{number}" for number in range(1, plates + 1))
