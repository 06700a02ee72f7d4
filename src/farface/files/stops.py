"""Write the stops of a plan as a table to fill in at the bench."""

import csv
import io
from collections.abc import Sequence

from farface.kernel import in_unit
from farface.part.stops import Stop

HEADER = ("after_pass", "shape", "passes_over_it", "x_mm", "y_mm", "expected_um", "read_um", "note")


def stops_csv(stops: Sequence[Stop], *, invented: bool) -> bytes:
    """Write a row for every place of every stop, in order; ``read_um`` is left empty."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(HEADER)
    note = "invented data" if invented else ""
    for stop in stops:
        for x_m, y_m in stop.places_m.tolist():
            places = (f"{in_unit(x_m, 'mm', 'm'):.3f}", f"{in_unit(y_m, 'mm', 'm'):.3f}")
            expected = f"{in_unit(stop.expected_m, 'um', 'm'):.1f}"
            writer.writerow((stop.number, stop.shape, stop.passes, *places, expected, "", note))
    return text.getvalue().encode()
