"""Tell what a film shows beside bubbles and flashes, what energies it speaks of, and in which regime."""

from collections.abc import Mapping, Sequence
from statistics import median

from farface.app.answer import show_odds
from farface.cavity.energy import shock_ratio
from farface.footage.events import FilmEvents
from farface.kernel import show_quantity
from farface.learn.bubble_energy import BubbleEnergy
from farface.report.content import Table


def beside_sentences(events: FilmEvents) -> tuple[str, ...]:
    """Say in sentences what is neither a bubble nor a flash; nothing of what the film does not show."""
    said = []
    if events.columns:
        longest = max(column.length_max_m for column in events.columns)
        wide = median(column.width_m for column in events.columns)
        said.append(
            f"{_counted(len(events.columns), 'vapour column')} below the face, the longest "
            f"{show_quantity(longest, 'm')}, {show_quantity(wide, 'm')} wide (median): too much power."
        )
    if events.rebounds:
        lost = median(
            shock_ratio(before_m=one.bubble_radius_m, after_m=one.rebound_radius_m) for one in events.rebounds
        )
        said.append(
            f"{_counted(len(events.rebounds), 'bubble')} rebounded; the collapse lost {lost:.2g} times the "
            "energy that the rebound kept (median)."
        )
    if events.lasting:
        said.append(
            f"{_counted(len(events.lasting), 'round thing')} of steady size: debris or gas, no bubbles."
        )
    if events.mirrored_share is not None and events.mirrored_share > 0.5:
        said.append("Bubbles show their mirror image in the glass; nothing above the face is read.")
    return tuple(said)


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def energy_rows(energies: Sequence[BubbleEnergy]) -> tuple[tuple[str, str], ...]:
    """Tell bubbles' energies, by size and by life, in rows of a table."""
    if not energies:
        return ()
    by_size, by_life = (
        median(values)
        for values in ([e.energy_j for e in energies], [e.energy_from_life_j for e in energies])
    )
    return (
        ("energy of a bubble by its size (median)", show_quantity(by_size, "J")),
        ("the same by its life, with the wall's part", show_quantity(by_life, "J")),
    )


def regime_table(odds: Mapping[str, float]) -> Table:
    """Set out the odds of the regimes; they rest on assumed shares and no film has calibrated them."""
    return Table(
        caption="Regime (not calibrated)",
        header=("regime", "odds"),
        rows=tuple((name, show_odds(share)) for name, share in odds.items()),
    )
