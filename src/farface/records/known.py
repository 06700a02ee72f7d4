"""A number together with how well it is known."""

from dataclasses import dataclass
from typing import Literal

How = Literal["measured", "stated", "computed", "assumed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """Hold a value, its standard deviation in the same unit, and how the person came by it.

    The unit stands in the name of the field that holds the record, such as ``thickness_m``.
    """

    value: float
    sd: float = 0.0
    how: How = "stated"
