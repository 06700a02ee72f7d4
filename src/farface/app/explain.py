"""Explain one setting with the section, the strip and the chain of numbers."""

from dataclasses import replace

from farface.app.answer import Answer, plain, show_band, show_odds
from farface.app.draws import Draws, current_draws
from farface.app.pictures import section_view, strip_view
from farface.app.settings import Typed, setting_of, setting_texts, show_setting
from farface.app.workbench import Workbench
from farface.etch.bench import EtchBench
from farface.etch.explain import Explanation, explain
from farface.files.atomic import write_atomically
from farface.records import Setting
from farface.report.content import Picture, Table
from farface.report.section import section_caption, section_svg
from farface.report.strip import strip_caption, strip_svg


def explain_setting(work: Workbench, typed: Typed, *, prior: bool = False) -> Answer:
    """Say why a setting does what it does, and draw its section and strip."""
    etch = work.etch()
    draws = current_draws(work, etch, prior=prior)
    setting = setting_of(work.rig, typed)
    return explain_one(work, etch, setting, draws)


def explain_one(work: Workbench, etch: EtchBench, setting: Setting, draws: Draws) -> Answer:
    """Explain a setting that was chosen already."""
    files = (work.places.reports / "section.svg", work.places.reports / "strip.svg")
    answer = replace(look_at_one(work, etch, setting, draws), files=files)
    for path, picture in zip(files, answer.pictures, strict=True):
        write_atomically(path, str(picture.svg).encode())
    request = {"setting": plain(setting), "prior": not draws.calibrated}
    work.publish("explanation", answer, inputs=draws.inputs, request=request)
    return answer


def look_at_section(work: Workbench, typed: Typed) -> Answer:
    """Draw the section of a setting alone, as it stands at the top of every page; nothing is recorded."""
    etch = work.etch()
    draws = current_draws(work, etch)
    setting = setting_of(work.rig, typed)
    told = explain(etch, setting, draws.values)
    return Answer(
        title=f"{show_setting(setting)} ({draws.basis})",
        pictures=(_section(work, etch, told, draws),),
        data={
            "setting": plain(setting), "texts": setting_texts(setting), "calibrated": draws.calibrated,
            "invented": work.invented,
        },
    )  # fmt: skip


def look_at_setting(work: Workbench, typed: Typed, *, prior: bool = False) -> Answer:
    """Explain a setting without recording or writing anything."""
    etch = work.etch()
    draws = current_draws(work, etch, prior=prior)
    return look_at_one(work, etch, setting_of(work.rig, typed), draws)


def look_at_one(work: Workbench, etch: EtchBench, setting: Setting, draws: Draws) -> Answer:
    """Explain a setting that was chosen already, without recording or writing anything."""
    told = explain(etch, setting, draws.values)
    strip = strip_view(work, etch, setting, draws)
    likeliest = max(told.odds, key=lambda seen: told.odds[seen])
    return Answer(
        title=f"{show_setting(setting)} ({draws.basis})",
        sentences=(
            f"Most likely: {likeliest.replace('_', ' ')}, with odds of {show_odds(told.odds[likeliest])}.",
            *told.hangs_on,
        ),
        tables=_tables(told),
        pictures=(
            _section(work, etch, told, draws),
            Picture(
                caption=strip_caption(strip), svg=strip_svg(strip), narrow_svg=strip_svg(strip, narrow=True)
            ),
        ),
        data={"calibrated": draws.calibrated, "explanation": plain(told)},
    )


def _section(work: Workbench, etch: EtchBench, told: Explanation, draws: Draws) -> Picture:
    view = section_view(work, etch, told, calibrated=draws.calibrated)
    return Picture(
        caption=section_caption(view), svg=section_svg(view), narrow_svg=section_svg(view, narrow=True)
    )


def _tables(told: Explanation) -> tuple[Table, Table]:
    """Lay out the chain and the odds."""
    chain = tuple(
        (step.name, show_band(step.median, step.low, step.high, step.dimension), step.sentence)
        for step in told.steps
    )
    odds = tuple((seen.replace("_", " "), show_odds(share)) for seen, share in told.odds.items())
    return (
        Table(
            caption="From the light to the margin, median and 90 % band",
            header=("what", "value", "so"),
            rows=chain,
        ),
        Table(caption="Odds of each outcome", header=("outcome", "odds"), rows=odds),
    )
