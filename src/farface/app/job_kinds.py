"""List the long work that can run as a job: each kind is one use case, asked for by plain JSON."""

from collections.abc import Callable, Mapping
from typing import Any, Final

from farface.app.answer import Answer
from farface.app.progress import Progress
from farface.app.settings import Typed, typed_of
from farface.app.workbench import Workbench

Run = Callable[[Workbench, Mapping[str, Any], Progress], Answer]


def _learn(work: Workbench, request: Mapping[str, Any], tell: Progress) -> Answer:
    from farface.app.learn import learn_from_bench

    return learn_from_bench(work, steps=request.get("steps"), tell=tell)


def _window(work: Workbench, request: Mapping[str, Any], tell: Progress) -> Answer:
    from farface.app.window import map_window

    tell("window", 0.0)
    return map_window(
        work, typed_of(request["typed"]), x=request["x"], y=request["y"], prior=request.get("prior", False)
    )


def _frames(work: Workbench, request: Mapping[str, Any], tell: Progress) -> Answer:
    from farface.app.film_frames import make_frames

    return make_frames(work.places.folder, request["film"], tell=tell)


def _footage(work: Workbench, request: Mapping[str, Any], tell: Progress) -> Answer:
    from farface.app.film_frames import film_path
    from farface.app.film_scale import FilmTyped
    from farface.app.footage import take_film

    tell("reading the film", 0.0)
    camera, typed = FilmTyped(**request["camera"]), Typed(**request["typed"])
    return take_film(work, film_path(work.places, request["film"]), camera, typed, plate=request["plate"])


def _next(work: Workbench, request: Mapping[str, Any], tell: Progress) -> Answer:
    from farface.app.next_cells import NextOrder, propose_next

    tell("weighing the settings that the laser can give", 0.0)
    return propose_next(work, Typed(**request["typed"]), NextOrder(**request["order"]))


def _export(work: Workbench, request: Mapping[str, Any], tell: Progress) -> Answer:
    from farface.app.journal_export import export_bench
    from farface.app.journal_look import export_path
    from farface.app.journal_open import OpenJournal

    tell("packing the bench", 0.0)
    return export_bench(OpenJournal(places=work.places, journal=work.journal), export_path(work.places))


def _part(work: Workbench, request: Mapping[str, Any], tell: Progress) -> Answer:
    from farface.app.part import plan_part
    from farface.app.part_page import part_order

    return plan_part(work, Typed(**request["typed"]), part_order(work, request), tell=tell)


# One line a kind; its name stands in the book.
KINDS: Final[dict[str, Run]] = {
    "learn": _learn,
    "next": _next,
    "export": _export,
    "window": _window,
    "frames": _frames,
    "footage": _footage,
    "part": _part,
}
