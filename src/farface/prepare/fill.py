"""Work out how much bath a cell takes until it just wets the far face, and how far the level may wander."""

import math
from dataclasses import dataclass
from typing import Final

from farface.kernel import OutOfRange, show_quantity
from farface.materials import liquid

GRAVITY_M_PER_S2: Final = 9.80665
# Contact angles are common practice, no source: a clear plastic wall, and clean glass as the bath leaves it.
WALL_ANGLE_RAD: Final = math.radians(70.0)
GLASS_RECEDING_RAD: Final = math.radians(20.0)
# Half of what surface tension could hold: a knock on the bench must not break the film.
CAREFUL_SHARE: Final = 0.5
GAP_MIN_M: Final = 0.5e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class Inside:
    """Hold a cell's inner lengths; ``risers_m2`` is the floor that rails or posts in it take."""

    width_m: float
    length_m: float
    height_m: float
    risers_m2: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Filling:
    """Hold the level of the far face above the floor, the volume to it, and how far the level may wander.

    ``meniscus_m3`` is part of the volume. Once wetted, the face stays wet until the level has fallen by
    ``may_fall_m``; ``may_rise_m`` above it the bath reaches the front face.
    """

    level_m: float
    volume_m3: float
    meniscus_m3: float
    may_fall_m: float
    may_rise_m: float

    def volume_error_m3(self, surface_m2: float) -> float:
        """Give how much bath too little still leaves the face wet, over a free surface."""
        return self.may_fall_m * surface_m2


def seat_height_m(*, front_height_m: float, thickness_m: float) -> float:
    """Give how high the seat must stand so that the front face stays where the lens is set: H - t.

    The far face, and so the level, stands at the seat: a thinner plate needs a higher one.
    """
    if not 0.0 < thickness_m < front_height_m:
        raise OutOfRange(
            f"plate is {show_quantity(thickness_m, 'm')} thick, but its front face is to stand "
            f"{show_quantity(front_height_m, 'm')} above the floor, and bath must fit below it "
            "(geometry). Choose a thinner plate, or a higher seat."
        )
    return front_height_m - thickness_m


def fill(inside: Inside, *, level_m: float, thickness_m: float, density_kg_per_m3: float) -> Filling:
    """Give the volume up to a level: (W L - risers) h, and what creeps up the walls, a^2 cos(theta) a length.

    a^2 = sigma / (rho g), with sigma that of water [water_handbook]. A wetted face holds a film down to
    2 a cos(theta/2) below it (a wide plate, theta the receding angle on glass); half of that is allowed.
    Raises `OutOfRange` for a level that is not inside the cell.
    """
    if not 0.0 < level_m + thickness_m < inside.height_m:
        raise OutOfRange(
            f"the front face stands {show_quantity(level_m + thickness_m, 'm')} above the floor, but the "
            f"cell is {show_quantity(inside.height_m, 'm')} high inside (rig.toml, geometry). Lower the "
            "seat, or build a higher cell."
        )
    capillary_m2 = liquid("water").surface_tension_n_per_m / (density_kg_per_m3 * GRAVITY_M_PER_S2)
    meniscus = capillary_m2 * math.cos(WALL_ANGLE_RAD) * 2.0 * (inside.width_m + inside.length_m)
    surface = inside.width_m * inside.length_m - inside.risers_m2
    film_m = 2.0 * math.sqrt(capillary_m2) * math.cos(0.5 * GLASS_RECEDING_RAD)
    return Filling(
        level_m=level_m,
        volume_m3=surface * level_m + meniscus,
        meniscus_m3=meniscus,
        may_fall_m=min(CAREFUL_SHARE * film_m, level_m),
        may_rise_m=thickness_m,
    )


def require_room(inside: Inside, *, plate_width_m: float, plate_height_m: float) -> None:
    """Raise `OutOfRange` for a cell that is smaller than its plate with a gap all round."""
    sides = ((inside.width_m, plate_width_m, "wide"), (inside.length_m, plate_height_m, "long"))
    for cell_m, plate_m, how in sides:
        if cell_m < plate_m + 2.0 * GAP_MIN_M:
            raise OutOfRange(
                f"the cell is {show_quantity(cell_m, 'm')} {how} inside, but the plate is "
                f"{show_quantity(plate_m, 'm')} and needs {show_quantity(GAP_MIN_M, 'm')} free on each "
                "side (geometry, common practice). Build a larger cell, or take a smaller plate."
            )


def filling_advice(filled: Filling) -> tuple[str, ...]:
    """Say how to fill without trapping air; common practice, no source."""
    return (
        f"Fill to about {show_quantity(filled.may_fall_m, 'm', digits=2)} below the seat, lower one end "
        "of the plate first so that the film runs along under it, then lay it down: air leaves ahead of "
        "the film.",
        "Look in through the wall, low, against the light: a trapped bubble is a bright ring. Lift one "
        "end and lay it down again; a bubble left under the path breaks the plate there.",
        "Top up with a pipette at the wall until the far face is wet to its edges; then keep the level "
        f"between {show_quantity(filled.may_fall_m, 'm', digits=2)} below it and "
        f"{show_quantity(filled.may_rise_m, 'm')} above it, where the front face would flood.",
    )
