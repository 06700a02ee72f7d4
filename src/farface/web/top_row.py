"""Name the pages of the top row, in the order of the loop."""

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """Hold one page of the top row."""

    words: str
    path: str

    def holds(self, path: str) -> bool:
        """Tell whether a path is this page or lies below it."""
        return path == self.path or (self.path != "/" and path.startswith(f"{self.path}/"))


TOP_ROW: Final = tuple(
    Entry(words=words, path=f"/{words.lower()}" if words != "Bench" else "/")
    for words in ("Bench", "Rig", "Bath", "Window", "Coupon", "Outcomes", "Footage", "Learn", "Next", "Part",
                  "Journal", "Safety")
)  # fmt: skip
