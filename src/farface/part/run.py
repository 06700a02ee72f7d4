"""Run the points of a part under one draw of the unknowns, and hand back maps of what became of the glass."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from farface.etch.bench import EtchBench
from farface.etch.column import Column, Firing, column_shares
from farface.etch.deposit import residual_heat_k_m2_per_j
from farface.etch.etched import deposit_constants
from farface.etch.ignition import LIFE_SPREAD
from farface.etch.unknowns import ABSORPTION, BUBBLE_SHARE, DISPERSION, RESIDUE, RISE_NEEDED, SPOT
from farface.part.firing import Found, Law, Luck, Shots, fire, nothing_found
from farface.part.left_heat import Memory, empty_memory, media_of
from farface.part.pulse_stamp import Cells, empty_cells, empty_tile, tile_width
from farface.records import Setting

# The cell over the spot radius: finer changes the depth by less than a per cent.
CELLS_A_SPOT: Final = 8.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """Hold a rectangle of cells: the middle of the first one, their size, and how many up and across."""

    left_m: float
    bottom_m: float
    cell_m: float
    rows: int
    columns: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """Hold what became of a rectangle: its cells, what came of every point, and the heat still there."""

    cells: Cells
    found: Found
    memory: Memory


def run_points(
    bench: EtchBench,
    setting: Setting,
    draw: NDArray[np.float64],
    shots: Shots,
    frame: Frame,
    rng: np.random.Generator,
    *,
    exact: bool = False,
) -> Run:
    """Fire points at untouched glass, pulse by pulse; about 1 us a pulse with stamps 24 cells across."""
    law = law_of(bench, setting, draw, frame)
    cells = empty_cells(frame.rows, frame.columns, exact=exact)
    tile = empty_tile(tile_width(law.media.spot_radius_m / frame.cell_m), cells)
    found, memory = nothing_found(shots.time_s.size), empty_memory()
    luck = luck_of(draw, (shots.time_s.size, setting.pulses_per_point), rng)
    fire(shots, luck, law, cells, tile, memory, found)
    return Run(cells=cells, found=found, memory=memory)


def luck_of(draw: NDArray[np.float64], shape: tuple[int, int], rng: np.random.Generator) -> Luck:
    """Draw for every pulse the rise that it needs, and the life of its cavity over the mean."""
    needed_k = draw[RISE_NEEDED] * np.exp(draw[DISPERSION] * rng.standard_normal(shape))
    return Luck(needed_k, 1.0 + rng.uniform(-LIFE_SPREAD, LIFE_SPREAD, shape))


def law_of(bench: EtchBench, setting: Setting, draw: NDArray[np.float64], frame: Frame) -> Law:
    """Gather what holds for a whole run from bench, setting and draw."""
    spot_m, absorption_per_m = float(draw[SPOT]), float(draw[ABSORPTION])
    numbers = bench.numbers()
    column = Column(spot_m, absorption_per_m, draw[RISE_NEEDED], draw[DISPERSION], draw[BUBBLE_SHARE])
    jump_s = bench.settle_s + setting.pitch_m / bench.jump_m_per_s
    firing = Firing(setting.rate_hz, setting.pulses_per_point, setting.pitch_m, jump_s, bench.line_m)
    shares = column_shares(firing, column, bench.liquid, bench.drain)
    fluence = 2.0 * setting.pulse_energy_j * bench.transmission / (math.pi * spot_m**2)
    return Law(
        rate_hz=setting.rate_hz,
        pulses=setting.pulses_per_point,
        fluence_j_per_m2=fluence,
        heating_k=absorption_per_m * fluence / bench.liquid.heat_capacity_j_per_m3_k,
        rayleigh_m=bench.rayleigh_in_glass_m,
        thickness_m=bench.thickness_m,
        cell_m=frame.cell_m,
        left_m=frame.left_m,
        bottom_m=frame.bottom_m,
        kept_share=float(draw[RESIDUE]),
        column=column,
        liquid=bench.liquid,
        deposit=deposit_constants(draw, numbers),
        media=media_of(
            spot_radius_m=spot_m, absorption_per_m=absorption_per_m,
            bath_m2_per_s=bench.liquid.diffusivity_m2_per_s, glass_m2_per_s=bench.glass.diffusivity_m2_per_s,
            glass_effusivity_j_per_m2_k_sqrt_s=bench.glass.effusivity_j_per_m2_k_sqrt_s, drain=bench.drain,
        ),
        dwell=shares.dwell,
        fresh=shares.fresh,
        residue_k_m2_per_j=residual_heat_k_m2_per_j(
            setting.pulses_per_point, 1.0 / setting.rate_hz, draw[RESIDUE],
            bench.glass.effusivity_j_per_m2_k_sqrt_s, spot_m, bench.glass.diffusivity_m2_per_s,
        ),
    )  # fmt: skip
