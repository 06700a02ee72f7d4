"""Fit the unknowns to everything a bench has shown, and say what that taught."""

from collections.abc import Iterable
from typing import Final

from farface.app.answer import Answer, Json, plain
from farface.app.draws import as_npz
from farface.app.footage import known_films
from farface.app.outcomes import known_outcomes
from farface.app.progress import Progress, quiet
from farface.app.workbench import Workbench
from farface.journal import Input, Record
from farface.kernel import UNITS, Missing
from farface.learn.posterior import STEPS, Posterior, fit
from farface.learn.taught import Band as TaughtBand
from farface.learn.taught import Conflict, PlateOffset, Taught, conflicts, plate_offsets, taught
from farface.report.content import Picture, Table
from farface.report.learned import Band, LearnedRow, LearnedView, learned_caption, learned_svg

CONFLICTS_SHOWN: Final = 8


def learn_from_bench(work: Workbench, *, steps: int | None = None, tell: Progress = quiet) -> Answer:
    """Fit all outcomes and films in the journal, keep the draws, and tell what the plates taught."""
    # Read once: outcomes that are typed while the fit runs are no part of it, and its record must not say so.
    evidence = work.journal.standing("outcomes"), work.journal.standing("footage")
    outcomes, films = known_outcomes(evidence[0]), known_films(evidence[1])
    if not outcomes and not films:
        raise Missing(
            "there is nothing to learn from yet. Read a filled coupon with `farface outcomes`, or a film "
            "with `farface footage`."
        )
    etch = work.etch()
    posterior = fit(
        etch, outcomes, films, work.rng(), steps=steps or STEPS,
        progress=lambda share: tell("fitting the unknowns", share),
    )  # fmt: skip
    rows, offsets = taught(etch, posterior), plate_offsets(posterior)
    against = conflicts(etch, posterior, outcomes)
    view = _view(work, rows)
    answer = Answer(
        title=f"Fit to {_counted(len(outcomes), 'cell')} and {_counted(len(films), 'film')}",
        sentences=_sentences(posterior, rows, offsets, against),
        tables=(_learned_table(rows), _conflict_table(against)),
        pictures=(
            Picture(
                caption=learned_caption(view),
                svg=learned_svg(view),
                narrow_svg=learned_svg(view, narrow=True),
            ),
        ),
        data=_data(posterior, rows, offsets, against),
    )
    kept = work.keep(as_npz(posterior.draws), kind="posterior", name="posterior.npz")
    work.publish("fit", answer, inputs=(kept, *_inputs(evidence)), request={"steps": steps})
    return answer


def _inputs(evidence: Iterable[Iterable[Record]]) -> tuple[Input, ...]:
    return tuple(Input(role=record.kind, record=record.id) for kind in evidence for record in kind)


def _sentences(
    posterior: Posterior,
    rows: tuple[Taught, ...],
    offsets: tuple[PlateOffset, ...],
    against: tuple[Conflict, ...],
) -> tuple[str, ...]:
    by_verdict: dict[str, list[str]] = {}
    for row in rows:
        by_verdict.setdefault(row.verdict, []).append(row.unknown.name)
    said = [f"{verdict.capitalize()}: {', '.join(names)}." for verdict, names in by_verdict.items()]
    if against:
        said.append(
            f"The fit finds {_counted(len(against), 'reading')} unlikely: a misread cell, or a wrong model."
        )
    return (*said, posterior.diagnostics.verdict, *(offset.sentence for offset in offsets))


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def _learned_table(rows: tuple[Taught, ...]) -> Table:
    return Table(
        caption="Each unknown before and after: median and 90 % band, the best learned first",
        header=("unknown", "before", "after", "verdict"),
        rows=tuple((row.unknown.name, row.before.text, row.after.text, row.verdict) for row in rows),
    )


def _conflict_table(against: tuple[Conflict, ...]) -> Table:
    shown = tuple((conflict.sentence,) for conflict in against[:CONFLICTS_SHOWN])
    return Table(
        caption="Readings that the fit finds unlikely, the unlikeliest first",
        header=("reading",), rows=shown or (("none",),),
    )  # fmt: skip


def _view(work: Workbench, rows: tuple[Taught, ...]) -> LearnedView:
    return LearnedView(
        title=f"{work.rig.name}: what was learned",
        invented=work.invented,
        rows=tuple(
            LearnedRow(
                name=row.unknown.name, meaning=row.unknown.meaning, unit=_unit(row.unknown.dimension),
                prior=_band(row.before, row.unknown.dimension),
                posterior=_band(row.after, row.unknown.dimension),
            )
            for row in rows
        ),
    )  # fmt: skip


_SHOWN_UNITS: Final = {"m": "um", "J/m2": "J/cm2", "1/m": "1/cm", "K": "K", "1": ""}


def _unit(dimension: str) -> str:
    return _SHOWN_UNITS[dimension]


def _band(band: TaughtBand, dimension: str) -> Band:
    factor = UNITS[dimension][_unit(dimension)]
    return Band(low=band.low / factor, median=band.median / factor, high=band.high / factor)


def _data(
    posterior: Posterior,
    rows: tuple[Taught, ...],
    offsets: tuple[PlateOffset, ...],
    against: tuple[Conflict, ...],
) -> dict[str, Json]:
    return {
        "unknowns": [
            {"name": r.unknown.name, "dimension": r.unknown.dimension, "before": plain(r.before),
             "after": plain(r.after), "width_share": r.width_share, "verdict": r.verdict}
            for r in rows
        ],
        "diagnostics": plain(posterior.diagnostics),
        "plates": plain(posterior.plates),
        "plate_offsets": plain(offsets),
        "conflicts": plain(against),
    }  # fmt: skip
