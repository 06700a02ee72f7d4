"""Show a coupon's plate: what the present draws expect of each cell, and what was seen in it."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from farface.app.draws import Draws
from farface.coupon.layout import Coupon
from farface.etch.bench import EtchBench
from farface.etch.forecast import forecast
from farface.records import Seen
from farface.report.content import Picture
from farface.report.plate_map import PlateCell, PlateView, plate_caption, plate_svg


def cell_odds(etch: EtchBench, coupon: Coupon, draws: NDArray[np.float64]) -> NDArray[np.float64]:
    """Average the odds of each cell over draws, shape (cell, outcome)."""
    return np.asarray(forecast(etch, [cell.setting for cell in coupon.cells], draws).odds.mean(axis=0))


def plate_picture(
    coupon: Coupon,
    odds: NDArray[np.float64],
    draws: Draws,
    *,
    title: str,
    seen: Mapping[str, Seen] | None = None,
    unlikely: frozenset[str] = frozenset(),
) -> Picture:
    """Draw the plate; ``seen`` and ``unlikely`` go by the cells' labels."""
    view = PlateView(
        title=title,
        invented=coupon.invented,
        calibrated=draws.calibrated,
        width_m=coupon.width_m,
        height_m=coupon.height_m,
        cells=tuple(
            PlateCell(
                label=cell.label, order=cell.order, x_m=cell.x_m, y_m=cell.y_m, size_m=cell.size_m,
                odds=tuple(share.tolist()), seen=(seen or {}).get(cell.label),
                odd_one=cell.label in unlikely,
            )
            for cell, share in zip(coupon.cells, odds, strict=True)
        ),
    )  # fmt: skip
    return Picture(caption=plate_caption(view), svg=plate_svg(view), narrow_svg=plate_svg(view, narrow=True))
