"""Say how much energy a laser's pulses carry at a repetition rate, and refuse what it cannot give."""

from farface.kernel import OutOfRange, show_quantity
from farface.records import Laser

# Energies read from a file as "0.5 mJ" and computed as P/f may differ in their last digit.
_ROUNDING_SHARE = 1e-9


def pulse_energy_available_j(laser: Laser, rate_hz: float) -> float:
    """Give the energy of a pulse at full power: constant up to the corner frequency, P/f above it.

    E = min(E_rated, P/f), so that neither energy nor mean power passes what is rated, even where the
    stated corner is not quite P/E_rated. Raises `OutOfRange` for a rate that the laser does not run at.
    Leaves out the droop that some lasers show near the corner: where it matters, measure it.
    """
    if not laser.rate_min_hz <= rate_hz <= laser.rate_max_hz:
        given, low, high = (show_quantity(f, "Hz") for f in (rate_hz, laser.rate_min_hz, laser.rate_max_hz))
        raise OutOfRange(
            f"rate is {given}, but the rig's laser runs at {low} to {high}. Choose a rate in that range."
        )
    return min(laser.rated_energy_j, laser.rated_power_w / rate_hz)


def require_energy(laser: Laser, *, rate_hz: float, energy_j: float) -> None:
    """Raise `OutOfRange` for an energy that is not above zero or that the laser cannot give at this rate."""
    available_j = pulse_energy_available_j(laser, rate_hz)
    if not 0.0 < energy_j <= available_j * (1.0 + _ROUNDING_SHARE):
        given, most, rate = (
            show_quantity(energy_j, "J"),
            show_quantity(available_j, "J"),
            show_quantity(rate_hz, "Hz"),
        )
        raise OutOfRange(
            f"pulse energy is {given}, but the rig's laser gives more than 0 and at most {most} at {rate}. "
            "Choose an energy in that range, or a lower rate."
        )
