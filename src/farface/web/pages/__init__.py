"""One file a page, each with a router; this is their list."""

from typing import Final

from fastapi import APIRouter

from farface.web.pages import (
    bath,
    bench,
    coupon,
    footage,
    jobs,
    journal,
    kept,
    learn,
    next_cells,
    outcomes,
    part,
    rig,
    safety,
    section,
    share,
    sources,
    uploads,
    window,
)

# One line a page, in the order of the top row.
ROUTERS: Final[tuple[APIRouter, ...]] = (
    bench.router,
    rig.router,
    bath.router,
    window.router,
    coupon.router,
    footage.router,
    # its fixed words go before a cell's name
    outcomes.router,
    outcomes.typing_router,
    learn.router,
    next_cells.router,
    journal.router,
    safety.router,
    part.router,
    share.router,
    section.router,
    jobs.router,
    sources.router,
    kept.router,
    uploads.router,
)
