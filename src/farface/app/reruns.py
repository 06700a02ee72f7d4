"""Say how each kind of computed record is computed again from what was asked for."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Final

from pydantic import TypeAdapter

from farface.app.answer import Answer, Json
from farface.app.bath import explain_bath
from farface.app.bench_cell import CellTyped
from farface.app.camera import FilmWish, plan_film
from farface.app.cell import draw_cell
from farface.app.check_sheets import write_sheets
from farface.app.chemicals import tell_chemicals
from farface.app.coupon import lay_out_settings
from farface.app.coupon_order import PlateOrder
from farface.app.depth import DepthTyped, read_depth
from farface.app.draws import current_draws
from farface.app.explain import explain_one
from farface.app.film_scale import FilmTyped
from farface.app.focus import FocusTyped, explain_focus
from farface.app.footage import take_film
from farface.app.hazards import estimate_hazards
from farface.app.learn import learn_from_bench
from farface.app.next_cells import NextOrder, propose_next
from farface.app.part import plan_part
from farface.app.part_order import PartOrder
from farface.app.prepare import prepare_bench
from farface.app.recipe import RecipeTyped, mix_bath
from farface.app.rig import explain_rig
from farface.app.settings import Typed
from farface.app.spot import read_spot
from farface.app.wear import bath_wear
from farface.app.window import map_window
from farface.app.workbench import Workbench
from farface.records import Setting

Request = Mapping[str, Json]
# Computes on a bench laid out for it, with the files that the record read in a folder.
Rerun = Callable[[Workbench, Path], Answer]
_SETTING: Final = TypeAdapter(Setting)
_SETTINGS: Final = TypeAdapter(tuple[Setting, ...])
_PLATE: Final = TypeAdapter(PlateOrder)


def file_name(text: Json) -> str:
    """Give the bare name of a file: a record from another bench must not reach past its folder."""
    return Path(str(text)).name


def _typed(asked: Request) -> Typed:
    return Typed(**asked["typed"])


def _rig(asked: Request) -> Rerun:
    typed = _typed(asked)
    return lambda work, _: explain_rig(work, typed)


def _bath(_: Request) -> Rerun:
    return lambda work, _: explain_bath(work)


def _recipe(asked: Request) -> Rerun:
    typed = RecipeTyped(**asked["typed"])
    return lambda work, _: mix_bath(work, typed)


def _wear(asked: Request) -> Rerun:
    typed = _typed(asked)
    return lambda work, _: bath_wear(work, typed)


def _cell(asked: Request) -> Rerun:
    typed = CellTyped(**{**asked["typed"], "also": tuple(asked["typed"]["also"])})
    return lambda work, _: draw_cell(work, typed)


def _focus(asked: Request) -> Rerun:
    """Leave out the laying out of a ladder: its coupon is a record of its own."""
    ladder, shot = asked["ladder"], Typed(**asked["shot"])

    def again(work: Workbench, read: Path) -> Answer:
        table = None if ladder is None else read / file_name(ladder)
        return explain_focus(work, FocusTyped(**{**asked["typed"], "read": table}), shot)

    return again


def _hazards(asked: Request) -> Rerun:
    typed, density = _typed(asked), asked["eyewear_optical_density"]
    return lambda work, _: estimate_hazards(work, typed, eyewear_optical_density=density)


def _chemicals(_: Request) -> Rerun:
    return lambda work, _: tell_chemicals(work)


def _sheets(asked: Request) -> Rerun:
    typed, only = _typed(asked), asked["only"]
    return lambda work, _: write_sheets(work, typed, only=only)


def _prepared(asked: Request) -> Rerun:
    typed = _typed(asked)
    return lambda work, _: prepare_bench(work, typed)


def _measured(asked: Request) -> Rerun:
    name = file_name(asked["measured"])
    return lambda work, read: read_spot(work, read / name)


def _depth(asked: Request) -> Rerun:
    typed = DepthTyped(**{**asked["typed"], "travel": tuple(asked["typed"]["travel"])})
    return lambda work, _: read_depth(work, typed)


def _camera(asked: Request) -> Rerun:
    wish, typed = FilmWish(**asked["wish"]), _typed(asked)
    return lambda work, _: plan_film(work, wish, typed)


def _window(asked: Request) -> Rerun:
    typed, x, y, prior = _typed(asked), asked["x"], asked["y"], asked["prior"]
    return lambda work, _: map_window(work, typed, x=x, y=y, prior=prior)


def _explanation(asked: Request) -> Rerun:
    setting, prior = _SETTING.validate_python(asked["setting"]), asked["prior"]

    def again(work: Workbench, _: Path) -> Answer:
        etch = work.etch()
        return explain_one(work, etch, setting, current_draws(work, etch, prior=prior))

    return again


def _coupon(asked: Request) -> Rerun:
    """Lay a coupon out again; clearing it for a machine is a person's doing, not a computation."""
    settings, plate = _SETTINGS.validate_python(asked["settings"]), _PLATE.validate_python(asked["plate"])
    engraving = None if asked["engraving"] is None else _SETTING.validate_python(asked["engraving"])
    return lambda work, _: lay_out_settings(work, settings, plate, engraving=engraving)


def _footage(asked: Request) -> Rerun:
    camera, typed, plate = FilmTyped(**asked["camera"]), _typed(asked), asked["plate"]
    film, cell = file_name(asked["folder"] or asked["film"][0]), asked["cell"]
    return lambda work, read: take_film(work, read / film, camera, typed, plate=plate, cell=cell)


def _fit(asked: Request) -> Rerun:
    steps = asked["steps"]
    return lambda work, _: learn_from_bench(work, steps=steps)


def _next(asked: Request) -> Rerun:
    typed, order = _typed(asked), NextOrder(**asked["order"])
    return lambda work, _: propose_next(work, typed, order)


def _part(asked: Request) -> Rerun:
    """Plan again, but clear nothing: a person clears a plan, and not its repetition."""
    typed, name = _typed(asked), file_name(asked["drawing"])
    kept = ("depth", "depths", "risk", "closely", "interleave", "tabs")
    wishes = {key: asked[key] for key in kept if key in asked}
    wishes["readings"] = tuple(asked.get("readings", ()))

    def again(work: Workbench, read: Path) -> Answer:
        return plan_part(work, typed, PartOrder(drawing=read / name, **wishes))

    return again


# How each kind of record is computed again. Reading a request raises KeyError, TypeError or ValueError
# where it does not say what this farface needs to know.
RERUNS: Final[dict[str, Callable[[Request], Rerun]]] = {
    "rig": _rig, "bath": _bath,
    "recipe": _recipe, "wear": _wear, "cell": _cell, "focus": _focus, "hazards": _hazards,
    "chemicals": _chemicals, "sheets": _sheets, "prepared": _prepared, "measured": _measured, "depth": _depth,
    "camera": _camera, "window": _window, "window-prior": _window, "explanation": _explanation,
    "coupon": _coupon, "footage": _footage, "fit": _fit, "next": _next, "part": _part,
}  # fmt: skip
# Kinds that compute nothing, and what to know of each.
NOT_COMPUTED: Final[dict[str, str]] = {
    "outcomes": "holds what a person saw",
    "ticks": "holds what a person ticked",
    "report": "gathers what other records say: compute those again",
    "export": "tells what was taken out",
    "import": "tells what was taken in",
}
