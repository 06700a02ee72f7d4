"""Say what a person should look at in the plan of one shape."""

from collections.abc import Iterator, Sequence

from farface.part.floor import Etched, partly_in
from farface.part.place import too_narrow_m
from farface.part.shapes import Shape
from farface.records import Wanted


def doubts_about(
    shape: Shape, goal: Wanted, earlier: Sequence[Etched], *, reached_m: float, reach_m: float
) -> Iterator[str]:
    """Yield a sentence for a depth that whole passes miss, a floor that ends inside, a place too narrow."""
    if goal.kind != "cut" and reached_m - goal.depth_m > goal.tolerance_m:
        yield (
            f'"{shape.name}" will be {reached_m * 1e6:.3g} um deep instead of {goal.depth_m * 1e6:.3g} um,'
            " because only whole passes can be run. A gentler setting comes nearer."
        )
    for other in partly_in(shape, earlier):
        yield (
            f'"{shape.name}" lies partly in "{other.shape.name}": there it will be deeper, and the beam out'
            " of focus. Split it at the edge."
        )
    if shape.kind == "pocket":
        for x_m, y_m in too_narrow_m(shape.paths_m, reach_m=reach_m):
            yield (
                f'"{shape.name}" is narrower than the etched spot, {2e6 * reach_m:.3g} um, near'
                f" x {x_m * 1e3:.3f}, y {y_m * 1e3:.3f} mm; that part will be missing."
                " Widen it, or draw a line."
            )
