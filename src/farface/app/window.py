"""Map the window of a bench: what two settings do, before or after plates were run."""

from typing import Final

import numpy as np

from farface.app.answer import Answer, Json, plain, show_band, show_odds
from farface.app.axis import axis_of
from farface.app.draws import Draws, current_draws
from farface.app.pictures import window_view
from farface.app.settings import Typed, setting_of, show_setting
from farface.app.workbench import Workbench
from farface.etch.bench import EtchBench
from farface.etch.explain import explain
from farface.etch.outcome_odds import BROKEN, RUNAWAY, STEADY
from farface.etch.window import Window, case_at, window
from farface.files.atomic import write_atomically
from farface.kernel import show_quantity
from farface.records import SEEN, Setting
from farface.report.content import Picture, Table
from farface.report.window_map import window_caption, window_svg

DEFAULT_AXES: Final = ("energy", "pulses")
_MAPS: Final = ("depth_m", "depth_low_m", "depth_high_m", "margin", "margin_low")


def map_window(
    work: Workbench, typed: Typed, *, x: str = DEFAULT_AXES[0], y: str = DEFAULT_AXES[1], prior: bool = False
) -> Answer:
    """Map two settings around one, and say where etching is steadiest and what that hangs on."""
    etch = work.etch()
    draws = current_draws(work, etch, prior=prior)
    around = setting_of(work.rig, typed)
    found = window(etch, around, draws.values, x=axis_of(work.rig, around, x), y=axis_of(work.rig, around, y))
    view = window_view(work, found, calibrated=draws.calibrated, points=((steadiest(found), "steadiest"),))
    kind = "window" if draws.calibrated else "window-prior"
    path = work.places.reports / f"{kind}.svg"
    picture = Picture(
        caption=window_caption(view), svg=window_svg(view), narrow_svg=window_svg(view, narrow=True)
    )
    write_atomically(path, str(picture.svg).encode())
    answer = Answer(
        title=f"Window over {found.x.words} and {found.y.words} ({draws.basis})",
        sentences=(*_sentences(found, calibrated=draws.calibrated), *_hangs_on(etch, around, draws, found)),
        tables=(_best_cell(found),),
        pictures=(picture,),
        data=_data(found, draws),
        files=(path,),
    )
    request = {"typed": plain(typed), "x": x, "y": y, "prior": prior}
    work.publish(kind, answer, inputs=draws.inputs, request=request)
    return answer


def steadiest(found: Window) -> int:
    """Return the index of the setting with the highest odds of steady etching."""
    return int(np.argmax(found.odds[:, :, STEADY]))


def _sentences(found: Window, *, calibrated: bool) -> tuple[str, str]:
    best = steadiest(found)
    odds = found.odds.reshape(-1, len(SEEN))[best]
    risk = odds[RUNAWAY] + odds[BROKEN]
    return (
        f"Steadiest at {_place(found, best)}: steady with odds of {show_odds(odds[STEADY])}, "
        f"runaway or breakage {show_odds(risk)}.",
        _verdict(float(odds[STEADY]), calibrated=calibrated),
    )


def _place(found: Window, cell: int) -> str:
    """Write the setting of a cell, and the bath's copper where the map varies that."""
    row, column = divmod(cell, len(found.x_values))
    copper = [
        show_quantity(value, axis.dimension)
        for axis, value in ((found.x, found.x_values[column]), (found.y, found.y_values[row]))
        if axis.name == "copper"
    ]
    return ", ".join([show_setting(found.settings[cell]), *(f"{value} of copper" for value in copper)])


def _hangs_on(etch: EtchBench, around: Setting, draws: Draws, found: Window) -> tuple[str, ...]:
    """Say which unknowns the steadiest cell's depth and margin hang on most."""
    row, column = divmod(steadiest(found), len(found.x_values))
    case = case_at(
        etch, around, draws.values,
        x=(found.x.name, found.x_values[column]), y=(found.y.name, found.y_values[row]),
    )  # fmt: skip
    return explain(case.bench, case.setting, case.draws).hangs_on


def _verdict(steady: float, *, calibrated: bool) -> str:
    if not calibrated:
        return "No plate stands behind this map yet: run a coupon before trusting any cell of it."
    if steady < 0.5:
        return "Even the best cell is more likely not to etch steadily: see what `farface next` proposes."
    return "The map rests on this bench's own outcomes; it holds for the bath and the spot as they were."


def _best_cell(found: Window) -> Table:
    best = steadiest(found)
    flat = {name: getattr(found, name).ravel()[best] for name in _MAPS}
    odds = found.odds.reshape(-1, len(SEEN))[best]
    rows = (
        ("setting", _place(found, best)),
        *((seen.replace("_", " "), show_odds(share)) for seen, share in zip(SEEN, odds, strict=True)),
        ("depth per pass", show_band(flat["depth_m"], flat["depth_low_m"], flat["depth_high_m"], "m")),
        ("runaway margin", f"{flat['margin']:.2f} (above {flat['margin_low']:.2f} in 19 of 20 draws)"),
    )
    return Table(caption="The steadiest cell of the map", header=("what", "value"), rows=rows)


def _data(found: Window, draws: Draws) -> dict[str, Json]:
    data = {
        "calibrated": draws.calibrated, "x": found.x.name, "y": found.y.name,
        "x_values": found.x_values, "y_values": found.y_values, "odds": found.odds, "outcomes": SEEN,
        "steadiest": found.settings[steadiest(found)], **{name: getattr(found, name) for name in _MAPS},
    }  # fmt: skip
    return {key: plain(value) for key, value in data.items()}
