"""Fire pulses one by one at the far face of the virtual bench: heat, flash, cavity, deposit, removal.

These are the invented truth's own mechanics, deliberately not the model that farface fits: removal grows
with the logarithm of the absorbed fluence, the deposit's gain saturates, and part of the deposit is rinsed
off between passes.
"""

import math
from typing import Final, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

HEATED: Final = 0
FLASHED: Final = 1
ETCHED: Final = 2

# A place has run away when this many pulses each took a step of runaway size out of it.
_RUNAWAY_STEPS: Final = 3
_COOLEST_SHARE: Final = 0.05  # however hot the glass, this share of its threshold is left


class Conditions(NamedTuple):
    """Hold what holds throughout one run; see `HiddenTruth` for what each number means."""

    spot_radius_m: float
    fluence_j_per_m2: float
    absorption_per_m: float
    pulse_rise_k: float
    liquid_diffusivity_m2_per_s: float
    liquid_heat_j_per_m3_k: float
    boiling_rise_k: float
    cavity_energy_share: float
    heat_taken_share: float
    contact_share: float
    overpressure_pa: float
    liquid_density_kg_per_m3: float
    removal_m: float
    threshold_j_per_m2: float
    softening_k: float
    heat_left_share: float
    glass_effusivity_j_per_m2_k_sqrt_s: float
    glass_diffusivity_m2_per_s: float
    seed_share: float
    gain_share: float
    gain_half_j_per_m2: float
    gain_rise_k: float
    wear_m: float
    skin_share: float
    skin_wear_m: float
    kept_share: float
    runaway_step_m: float
    pitch_m: float
    remembered: int


class Firing(NamedTuple):
    """Hold pulses in order of time: when, at which line and column of the patch, in which pass (from 0)."""

    time_s: NDArray[np.float64]
    line: NDArray[np.int64]
    column: NDArray[np.int64]
    number: NDArray[np.int64]


class Traces(NamedTuple):
    """Hold what became of each pulse, shape (pulses,), and of the patch.

    ``kind`` is HEATED, FLASHED or ETCHED; ``below_m``, ``radius_m`` and ``life_s`` belong to flashes.
    ``depth_m`` is the floor after each pass, shape (passes, lines, columns). ``fired`` counts the pulses
    up to the end, or up to where a place ran away.
    """

    kind: NDArray[np.int8]
    below_m: NDArray[np.float64]
    radius_m: NDArray[np.float64]
    life_s: NDArray[np.float64]
    depth_m: NDArray[np.float64]
    absorbed_peak_j_per_m2: float
    fired: int
    ran_away: bool


class _Patch(NamedTuple):
    """Hold the state of every place: deposit, acid skin, floor, and steps of runaway size so far."""

    load: NDArray[np.float64]
    skin: NDArray[np.float64]
    floor_m: NDArray[np.float64]
    big_steps: NDArray[np.int64]


@njit(cache=True, nogil=True)
def fire(firing: Firing, needed_k: NDArray[np.float64], lines: int, columns: int, c: Conditions) -> Traces:
    """Fire every pulse in order at a flat patch, until the end or until a place runs away.

    ``needed_k`` is the rise that each pulse would need to flash, shape (pulses,). A pulse that arrives while
    a cavity is open at its place etches; any other heats the liquid, and flashes when the rise exceeds what
    it needs.
    """
    count, shape = firing.time_s.size, (lines, columns)
    kind = np.zeros(count, dtype=np.int8)
    below_m, radius_m, life_s = np.zeros(count), np.zeros(count), np.zeros(count)
    heat_k, burnt_j_per_m2 = np.zeros(count), np.zeros(count)
    patch = _Patch(np.zeros(shape), np.zeros(shape), np.zeros(shape), np.zeros(shape, dtype=np.int64))
    depth_m = np.zeros((firing.number[-1] + 1, lines, columns))
    flash, peak, fired, ran_away = -1, 0.0, count, False
    for i in range(count):
        if i > 0 and firing.number[i] != firing.number[i - 1]:
            depth_m[firing.number[i - 1]] = patch.floor_m
            patch.load[:] *= c.kept_share
        if flash >= 0 and _is_open(i, flash, firing, radius_m, life_s, c):
            kind[i] = ETCHED
            rise_k = _rise_of_glass(i, burnt_j_per_m2, firing, c)
            burnt_j_per_m2[i], strongest, ran_away = _etch(firing.line[i], firing.column[i], rise_k, patch, c)
            peak = max(peak, strongest)
            if ran_away:
                fired = i + 1
                break
            continue
        heat_k[i] = c.pulse_rise_k
        rise_k = c.pulse_rise_k + _rise_of_liquid(i, heat_k, firing, c)
        if rise_k <= needed_k[i]:
            continue
        kind[i] = FLASHED
        below_m[i] = math.log(rise_k / needed_k[i]) / c.absorption_per_m
        radius_m[i] = _cavity_radius(rise_k, below_m[i], c)
        life_s[i] = 2.0 * 0.9147 * radius_m[i] * math.sqrt(c.liquid_density_kg_per_m3 / c.overpressure_pa)
        _take_heat(i, heat_k, firing, c)
        if below_m[i] <= c.contact_share * radius_m[i]:
            flash = i
            _seed(firing.line[i], firing.column[i], patch, c)
    depth_m[firing.number[fired - 1]] = patch.floor_m
    return Traces(kind, below_m, radius_m, life_s, depth_m, peak, fired, ran_away)


@njit(cache=True, nogil=True)
def _away2(i: int, j: int, firing: Firing, c: Conditions) -> float:
    """Square the distance between the places of two pulses."""
    lines, columns = firing.line[i] - firing.line[j], firing.column[i] - firing.column[j]
    return float(c.pitch_m * c.pitch_m * (lines * lines + columns * columns))


@njit(cache=True, nogil=True)
def _is_open(
    i: int,
    flash: int,
    firing: Firing,
    radius_m: NDArray[np.float64],
    life_s: NDArray[np.float64],
    c: Conditions,
) -> bool:
    """Say whether the cavity of an earlier flash is open at the time and place of pulse i."""
    in_time = firing.time_s[i] < firing.time_s[flash] + life_s[flash]
    return bool(in_time and _away2(i, flash, firing, c) < radius_m[flash] ** 2)


@njit(cache=True, nogil=True)
def _rise_of_liquid(i: int, heat_k: NDArray[np.float64], firing: Firing, c: Conditions) -> float:
    """Sum what earlier pulses left in the liquid: rise w^2/g exp(-2 r^2/g), g = w^2 + 8 D t."""
    total_k, spot2_m2 = 0.0, c.spot_radius_m**2
    for j in range(max(0, i - c.remembered), i):
        if heat_k[j] > 0.0:
            spread_m2 = spot2_m2 + 8.0 * c.liquid_diffusivity_m2_per_s * (firing.time_s[i] - firing.time_s[j])
            share = spot2_m2 / spread_m2 * math.exp(-2.0 * _away2(i, j, firing, c) / spread_m2)
            total_k += heat_k[j] * share
    return total_k


@njit(cache=True, nogil=True)
def _rise_of_glass(i: int, burnt_j_per_m2: NDArray[np.float64], firing: Firing, c: Conditions) -> float:
    """Sum what earlier etching pulses left at the face: b a/(e sqrt(pi t)), spread as in the liquid."""
    total_k, spot2_m2 = 0.0, c.spot_radius_m**2
    for j in range(max(0, i - c.remembered), i):
        if burnt_j_per_m2[j] > 0.0:
            age_s = firing.time_s[i] - firing.time_s[j]
            spread_m2 = spot2_m2 + 8.0 * c.glass_diffusivity_m2_per_s * age_s
            share = spot2_m2 / spread_m2 * math.exp(-2.0 * _away2(i, j, firing, c) / spread_m2)
            deep = c.glass_effusivity_j_per_m2_k_sqrt_s * math.sqrt(math.pi * age_s)
            total_k += c.heat_left_share * burnt_j_per_m2[j] / deep * share
    return total_k


@njit(cache=True, nogil=True)
def _cavity_radius(rise_k: float, column_m: float, c: Conditions) -> float:
    """Size a cavity by the heat stored above boiling in the superheated column.

    E = eta rho c (pi w^2/2) [rise (1 - e^{-alpha z})/alpha - rise_boiling z] = (4/3) pi R^3 dp.
    """
    stored_k_m = rise_k * (1.0 - math.exp(-c.absorption_per_m * column_m)) / c.absorption_per_m
    excess_k_m = max(stored_k_m - c.boiling_rise_k * column_m, 0.0)
    area_m2 = 0.5 * math.pi * c.spot_radius_m**2
    energy_j = c.cavity_energy_share * c.liquid_heat_j_per_m3_k * area_m2 * excess_k_m
    return float((3.0 * energy_j / (4.0 * math.pi * c.overpressure_pa)) ** (1.0 / 3.0))


@njit(cache=True, nogil=True)
def _take_heat(i: int, heat_k: NDArray[np.float64], firing: Firing, c: Conditions) -> None:
    """Take out the heat that the cavity of pulse i used up, within one spot diameter."""
    for j in range(max(0, i - c.remembered), i + 1):
        if _away2(i, j, firing, c) < 4.0 * c.spot_radius_m**2:
            heat_k[j] *= 1.0 - c.heat_taken_share


@njit(cache=True, nogil=True)
def _share_at(row: int, col: int, line: int, column: int, c: Conditions) -> float:
    """Give the share of the peak fluence that a pulse at one place brings to another."""
    off2_m2 = c.pitch_m**2 * ((row - line) ** 2 + (col - column) ** 2)
    return math.exp(-2.0 * off2_m2 / c.spot_radius_m**2)


@njit(cache=True, nogil=True)
def _seed(line: int, column: int, patch: _Patch, c: Conditions) -> None:
    """Lay the deposit and the acid skin that a flash at the face leaves around it."""
    reach = math.ceil(1.5 * c.spot_radius_m / c.pitch_m)
    for row in range(max(0, line - reach), min(patch.load.shape[0], line + reach + 1)):
        for col in range(max(0, column - reach), min(patch.load.shape[1], column + reach + 1)):
            share = _share_at(row, col, line, column, c)
            patch.load[row, col] += c.seed_share * share
            patch.skin[row, col] += c.skin_share * share * (1.0 - patch.skin[row, col])


@njit(cache=True, nogil=True)
def _etch(line: int, column: int, rise_k: float, patch: _Patch, c: Conditions) -> tuple[float, float, bool]:
    """Etch all places under one pulse; return the absorbed fluence there, its peak, and if one ran away.

    step = d0 ln(a/F_th), a = (1 - e^{-load}) F, F_th falling with the glass's rise;
    load <- (load + gain a^2/(a^2 + half^2) (1 - skin)(1 + rise/rise_gain)) e^{-step/wear}.
    """
    reach = math.ceil(1.5 * c.spot_radius_m / c.pitch_m)
    threshold = c.threshold_j_per_m2 * max(_COOLEST_SHARE, 1.0 - rise_k / c.softening_k)
    here, strongest, ran_away = 0.0, 0.0, False
    for row in range(max(0, line - reach), min(patch.load.shape[0], line + reach + 1)):
        for col in range(max(0, column - reach), min(patch.load.shape[1], column + reach + 1)):
            fluence = c.fluence_j_per_m2 * _share_at(row, col, line, column, c)
            absorbed = (1.0 - math.exp(-patch.load[row, col])) * fluence
            step_m = c.removal_m * math.log(absorbed / threshold) if absorbed > threshold else 0.0
            gained = c.gain_share * absorbed**2 / (absorbed**2 + c.gain_half_j_per_m2**2)
            gained *= (1.0 - patch.skin[row, col]) * (1.0 + rise_k / c.gain_rise_k)
            patch.load[row, col] = (patch.load[row, col] + gained) * math.exp(-step_m / c.wear_m)
            patch.skin[row, col] *= math.exp(-step_m / c.skin_wear_m)
            patch.floor_m[row, col] += step_m
            strongest = max(strongest, absorbed)
            if row == line and col == column:
                here = absorbed
            if step_m > c.runaway_step_m:
                patch.big_steps[row, col] += 1
                ran_away = ran_away or patch.big_steps[row, col] >= _RUNAWAY_STEPS
    return here, strongest, ran_away
