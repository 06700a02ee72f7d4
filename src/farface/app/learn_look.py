"""Look at what the plates taught: the last fit, how it stands to what was seen since, and each plate."""

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np

from farface.app.answer import Answer, Json
from farface.app.coupon_look import coupon_record, coupon_told
from farface.app.draws import current_draws
from farface.app.footage import known_films
from farface.app.job_book import JobBook
from farface.app.jobs import job_data
from farface.app.journal_open import OpenJournal
from farface.app.outcomes import known_outcomes
from farface.app.outcomes_look import unrecorded
from farface.app.overview import look_at_bench
from farface.app.plate_pictures import cell_odds, plate_picture
from farface.app.told_again import told_again
from farface.app.workbench import Workbench
from farface.journal import Record
from farface.kernel import Missing
from farface.learn.plates import on_plate


def look_at_learned(work: Workbench) -> Answer:
    """Tell the last fit again, and what evidence lies in the journal; nothing is computed."""
    outcomes = known_outcomes(work.journal.standing("outcomes"))
    films = known_films(work.journal.standing("footage"))
    stage = stage_of(work, "learn")
    fit = work.journal.latest("fit")
    told = Answer(title="Learn") if fit is None else told_again(work.journal, fit)
    data: dict[str, Json] = {
        "cells": len(outcomes), "films": len(films), "plates": sorted({o.plate for o in outcomes}),
        "invented": work.invented, "stale": stage["says"] if stage["state"] == "stale" else "",
        "record": None if fit is None else fit.number, "fit": dict(told.data),
        "job": present_job(work.places.folder, "learn", fit),
        "unrecorded": unrecorded(OpenJournal(places=work.places, journal=work.journal)),
    }  # fmt: skip
    return Answer(
        title="Learn", sentences=told.sentences, tables=told.tables, pictures=told.pictures, data=data
    )


def look_at_plate(work: Workbench, name: str) -> Answer:
    """Show what the fit expects of a plate's cells beside what was seen in them."""
    coupon = coupon_told(coupon_record(work.journal, name))
    fit = work.journal.latest("fit")
    if fit is None:
        raise Missing("Nothing was learned yet. Let the plates teach the model first.")
    draws, etch = current_draws(work, work.etch()), work.etch()
    data = fit.body["data"]
    offset = np.full(len(draws.values), np.log(_offset(data, name)))
    odds = cell_odds(etch, coupon, on_plate(draws.values, offset))
    seen = {o.cell: o.seen for o in known_outcomes(work.journal.standing("outcomes")) if o.plate == name}
    against = [one for one in data["conflicts"] if one["outcome"]["plate"] == name]
    unlikely = frozenset(one["outcome"]["cell"] for one in against)
    picture = plate_picture(coupon, odds, draws, title=f"Plate {name}", seen=seen, unlikely=unlikely)
    return Answer(
        title=f"Plate {name}", sentences=(picture.caption,), pictures=(picture,),
        data={"plate": name, "seen": seen, "unlikely": sorted(unlikely),
              "odds": dict(zip((c.label for c in coupon.cells), odds.tolist(), strict=True))},
    )  # fmt: skip


def present_job(folder: Path, kind: str, record: Record | None) -> dict[str, Json] | None:
    """Give the last job of a kind where it runs, or where it ended badly after the record was written."""
    last = next(iter(JobBook(folder).last(1, kind=kind)), None)
    if last is None or last.state == "done":
        return None
    if not last.running and record is not None and _seconds(record.at_utc) > last.started_s:
        return None
    return job_data(last)


def stage_of(work: Workbench, word: str) -> Mapping[str, Any]:
    """Find how a stage of the loop stands."""
    stages = look_at_bench(work.places.folder).data["stages"]
    return next(stage for stage in stages if stage["word"] == word)


def _offset(data: Mapping[str, Any], name: str) -> float:
    """Give by what factor a plate saw more fluence than the usual one; 1 where the fit does not say."""
    offsets = {one["plate"]: float(one["median"]) for one in data.get("plate_offsets", ())}
    return offsets.get(name, 1.0)


def _seconds(at_utc: str) -> float:
    return datetime.fromisoformat(at_utc).timestamp()
