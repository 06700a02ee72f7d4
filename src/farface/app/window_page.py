"""Show the window as a page: what can be mapped, the setting that was picked, published etching beside it."""

from dataclasses import replace
from typing import Final

from farface.app.answer import Answer, plain, show_band
from farface.app.draws import current_draws
from farface.app.explain import look_at_one
from farface.app.settings import Typed, setting_of, setting_texts, show_setting
from farface.app.titles import titled
from farface.app.window_stack import (
    GRID,
    StackOrder,
    basis_of,
    quantities_told,
    stack_axes,
    stack_layers,
)
from farface.app.workbench import Workbench
from farface.etch.axes import AXES
from farface.etch.published import SETS, Published
from farface.kernel import show_quantity
from farface.records import Setting
from farface.report.content import Table

# The first free one of these slides when none is named.
_SLIDES: Final = ("rate", "pulses", "energy")
_NAMES: Final = tuple((axis.name, axis.words) for axis in AXES.values())


def look_at_window(work: Workbench, typed: Typed, order: StackOrder) -> Answer:
    """Say what can be mapped over which settings; the maps themselves come from `window_stack`."""
    order = replace(order, slide=slide_of(order))
    axes = stack_axes(work, typed, order)
    setting = setting_of(work.rig, typed)
    return Answer(
        title=titled(work, f"Window over {axes['x']['words']} and {axes['y']['words']}"),
        sentences=(
            "Each place on the map is a setting: point at it to read it, click or press Enter to pick it.",
        ),
        data={
            "axes": axes, "quantities": quantities_told(), "layers": stack_layers(), "names": _NAMES,
            "calibrated": work.journal.latest("fit") is not None, "invented": work.invented,
            "basis": basis_of(work),
            "x": order.x, "y": order.y, "slide": order.slide, "grid": GRID,
            "setting": setting_texts(setting), "setting_si": plain(setting), "around": show_setting(setting),
        },
    )  # fmt: skip


def look_at_cell(work: Workbench, typed: Typed) -> Answer:
    """Explain the setting that was picked: chain, section and strip, and published etching beside it."""
    etch = work.etch()
    draws = current_draws(work, etch)
    setting = setting_of(work.rig, typed)
    answer = look_at_one(work, etch, setting, draws)
    steps = {step["name"]: step for step in answer.data["explanation"]["steps"]}
    absorbed = steps["absorptance of the deposit"]["median"] * steps["fluence at the far face"]["median"]
    removal = steps["removal per etching pulse"]
    here = show_band(removal["median"], removal["low"], removal["high"], "m")
    beside = Table(
        caption=f"Published etching at the same absorbed fluence, {show_quantity(absorbed, 'J/m2')}",
        header=("published", "took a pulse", "here, an etching pulse", "from"),
        rows=tuple((one.name, _published_words(one, absorbed), here, one.key) for one in SETS),
    )
    return replace(
        answer,
        tables=(*answer.tables, beside),
        data={
            **answer.data, "invented": work.invented, "texts": setting_texts(setting),
            "published": _published_energies(setting, absorbed),
        },
    )  # fmt: skip


def slide_of(order: StackOrder) -> str:
    """Choose the setting that slides: the one asked for, or the first that spans no side of the map."""
    taken = {text.partition("=")[0].strip() for text in (order.x, order.y)}
    return next(name for name in (order.slide, *_SLIDES) if name not in taken)


def _published_words(one: Published, absorbed_j_per_m2: float) -> str:
    depth_m = one.depth_m(absorbed_j_per_m2)
    if depth_m is not None:
        return show_quantity(depth_m, "m", digits=2)
    low, high = (show_quantity(end, "J/m2", digits=2) for end in one.absorbed_j_per_m2)
    return f"nothing there; it spans {low} to {high}"


def _published_energies(setting: Setting, absorbed_j_per_m2: float) -> list[dict[str, object]]:
    """Give the pulse energies at which this bench absorbs what the published sets span."""
    per_j = absorbed_j_per_m2 / setting.pulse_energy_j
    if not per_j > 0.0:
        return []
    return [
        {"words": f"{one.name} ({one.key})", "low_j": one.absorbed_j_per_m2[0] / per_j,
         "high_j": one.absorbed_j_per_m2[1] / per_j}
        for one in SETS
    ]  # fmt: skip
