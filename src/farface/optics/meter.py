"""Take pulse energies from a power meter's readings at several rates, and refuse to go beyond them."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from farface.kernel import Malformed, OutOfRange, show_quantity
from farface.records import Laser

# A meter's own error: readings this far above what the laser is rated for are still believed.
_OVER_SHARE = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterTable:
    """Hold rising rates and the energy of a pulse at each, shapes (reading,), behind scanner and lens."""

    rates_hz: NDArray[np.float64]
    energies_j: NDArray[np.float64]

    def energy_j(self, rate_hz: float) -> float:
        """Give the energy at a rate between the readings, in straight lines of E over f.

        Raises `OutOfRange` for a rate beyond them: energy is never carried on.
        """
        low, high = float(self.rates_hz[0]), float(self.rates_hz[-1])
        if not low <= rate_hz <= high:
            raise OutOfRange(
                f"rate is {show_quantity(rate_hz, 'Hz')}, but the meter was read from "
                f"{show_quantity(low, 'Hz')} to {show_quantity(high, 'Hz')}. Read it at that rate too."
            )
        return float(np.interp(rate_hz, self.rates_hz, self.energies_j))


def meter_table(laser: Laser, *, rates_hz: NDArray[np.float64], powers_w: NDArray[np.float64]) -> MeterTable:
    """Turn mean powers into pulse energies, E = P / f, shapes (reading,).

    Raises `Malformed` for values that are not positive or a rate that is there twice, `OutOfRange` for a
    reading above what the laser is rated for: the meter's head, its range or its wavelength is then wrong.
    """
    good = (
        rates_hz.shape == powers_w.shape and rates_hz.size > 0 and np.unique(rates_hz).size == rates_hz.size
    )
    if not good or not (np.all(rates_hz > 0.0) and np.all(powers_w > 0.0)):
        raise Malformed(
            f"there are {rates_hz.size} rates and {powers_w.size} powers, but a table needs as many of "
            "each, every rate once, all above 0. Correct the table."
        )
    order = np.argsort(rates_hz)
    rates, powers = rates_hz[order], powers_w[order]
    energies = powers / rates
    for what, values, most, dimension in (
        ("power", powers, laser.rated_power_w, "W"),
        ("energy", energies, laser.rated_energy_j, "J"),
    ):
        if values.max() > most * (1.0 + _OVER_SHARE):
            raise OutOfRange(
                f"the highest {what} read is {show_quantity(float(values.max()), dimension)}, but "
                f"rig.toml rates the laser for {show_quantity(most, dimension)}. Check the meter's "
                "wavelength and range, or correct rig.toml."
            )
    return MeterTable(rates_hz=rates, energies_j=energies)
