"""Choose the draws that predictions rest on: the last fit's, or the prior's where nothing was learned."""

import io
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.app.workbench import Workbench
from farface.etch.bench import EtchBench
from farface.etch.unknowns import draw_prior
from farface.journal import Input

DRAWS: Final = 240


@dataclass(frozen=True, slots=True, kw_only=True)
class Draws:
    """Hold draws of the unknowns, shape (draw, unknown), and whether plates stand behind them."""

    values: NDArray[np.float64]
    calibrated: bool
    inputs: tuple[Input, ...] = ()

    @property
    def basis(self) -> str:
        """Say in words what predictions rest on."""
        return "fitted to this bench's outcomes" if self.calibrated else "not calibrated: prior only"


def current_draws(work: Workbench, etch: EtchBench, *, prior: bool = False) -> Draws:
    """Return the draws of the latest fit, thinned to ``DRAWS``; the prior's when there is none."""
    fit = None if prior else work.journal.latest("fit")
    if fit is None:
        return Draws(values=draw_prior(etch, DRAWS, work.rng()), calibrated=False)
    (stored,) = (item for item in fit.inputs if item.role == "posterior")
    assert stored.file is not None
    with np.load(io.BytesIO(work.journal.content(stored.file))) as arrays:
        every = arrays["draws"]
    chosen = np.linspace(0, len(every) - 1, min(DRAWS, len(every))).round().astype(int)
    return Draws(values=every[chosen], calibrated=True, inputs=(Input(role="fit", record=fit.id),))


def fit_named(work: Workbench) -> tuple[Input, ...]:
    """Name the fit that `current_draws` would take, without reading it."""
    fit = work.journal.latest("fit")
    return () if fit is None else (Input(role="fit", record=fit.id),)


def as_npz(draws: NDArray[np.float64]) -> bytes:
    """Write draws as the bytes of an NPZ file, for the journal to keep."""
    buffer = io.BytesIO()
    np.savez_compressed(buffer, draws=draws)
    return buffer.getvalue()
