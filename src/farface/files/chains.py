"""Join loose runs of straight steps, end to end, to outlines."""

from collections import defaultdict
from collections.abc import Sequence
from itertools import product
from typing import Final

import numpy as np

from farface.files.outline import CHORD_ERROR_M, Outline, Points

# An end of a run: which run, and whether it is the end that the run begins at.
_End = tuple[int, bool]
_NEARBY: Final = tuple(product((-1, 0, 1), repeat=2))


def joined(outlines: Sequence[Outline]) -> tuple[tuple[Outline, ...], int]:
    """Return the outlines with open ones joined within a micrometre, and the number of places left unjoined.

    Where more than two ends meet, which of them belong together is anybody's guess, so none is joined.
    """
    closed = [one for one in outlines if one.closed]
    runs = [one.vertices_m for one in outlines if not one.closed and _is_long(one.vertices_m)]
    places = _places([run[end] for run in runs for end in (0, -1)])
    meeting: defaultdict[int, list[_End]] = defaultdict(list)
    for number, place in enumerate(places):
        meeting[place].append((number // 2, number % 2 == 0))
    partner = {one: other for ends in meeting.values() if len(ends) == 2
               for one, other in (ends, ends[::-1])}  # fmt: skip
    left = set(range(len(runs)))
    free = [end for ends in meeting.values() if len(ends) != 2 for end in ends]
    chains = [_chain(end, runs, partner, left) for end in free if end[0] in left]
    # What is left runs in circles.
    while left:
        chains.append(_chain((min(left), True), runs, partner, left))
    return (*closed, *chains), sum(len(ends) > 2 for ends in meeting.values())


def without_doubles(outlines: Sequence[Outline]) -> tuple[Outline, ...]:
    """Return the outlines without those drawn twice, whichever way round."""
    return tuple({_key(one): one for one in reversed(outlines)}.values())[::-1]


def _is_long(run_m: Points) -> bool:
    return bool(np.ptp(run_m, axis=0).max() > CHORD_ERROR_M)


def _chain(end: _End, runs: Sequence[Points], partner: dict[_End, _End], left: set[int]) -> Outline:
    """Follow runs from one end until no other follows; a chain that comes back to its start is closed."""
    pieces: list[Points] = []
    first, follows = end, True
    while follows and end[0] in left:
        number, forward = end
        left.remove(number)
        run_m = runs[number] if forward else runs[number][::-1]
        pieces.append(run_m[1:] if pieces else run_m)
        follows = (number, not forward) in partner
        end = partner.get((number, not forward), end)
    vertices_m = np.vstack(pieces)
    if follows and end == first and len(vertices_m) > 3:
        return Outline(vertices_m=vertices_m[:-1], closed=True)
    return Outline(vertices_m=vertices_m, closed=False)


def _places(ends_m: Sequence[Points]) -> list[int]:
    """Number the places where ends lie; those within a micrometre of a place's first end share its number."""
    cells: defaultdict[tuple[int, int], list[int]] = defaultdict(list)
    firsts: list[tuple[float, float]] = []
    numbers = []
    for x, y in (map(float, end) for end in ends_m):
        i, j = int(x // CHORD_ERROR_M), int(y // CHORD_ERROR_M)
        near = (n for di, dj in _NEARBY for n in cells.get((i + di, j + dj), ())
                if (firsts[n][0] - x) ** 2 + (firsts[n][1] - y) ** 2 <= CHORD_ERROR_M**2)  # fmt: skip
        number = next(near, len(firsts))
        if number == len(firsts):
            firsts.append((x, y))
            cells[i, j].append(number)
        numbers.append(number)
    return numbers


def _key(outline: Outline) -> tuple[bool, bytes]:
    """Return what is the same for two outlines that cover the same steps."""
    rows = np.round(outline.vertices_m / CHORD_ERROR_M) + 0.0  # no -0.0
    if outline.closed:
        rows = np.roll(rows, -int(np.lexsort(rows.T[::-1])[0]), axis=0)
        back = np.roll(rows[::-1], 1, axis=0)
    else:
        back = rows[::-1]
    return outline.closed, min(rows.tobytes(), back.tobytes())
