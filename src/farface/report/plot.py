"""Set up a plain plot: two scales, round ticks with their values, and the words along both axes."""

from dataclasses import dataclass

from farface.report.scale import Scale, even_ticks, tick_words
from farface.report.svg import Svg, group, line, text


@dataclass(frozen=True, slots=True, kw_only=True)
class Plot:
    """Hold the frame of a plot: across grows to the right, up grows upwards."""

    across: Scale
    up: Scale

    @classmethod
    def of(
        cls, box_px: tuple[float, float, float, float], across: tuple[float, float], up: tuple[float, float]
    ) -> "Plot":
        """Make the frame of a box (left, top, width, height) for the ranges of both axes."""
        left, top, width, height = box_px
        return cls(
            across=Scale(low=across[0], high=across[1], start_px=left, end_px=left + width),
            up=Scale(low=up[0], high=up[1], start_px=top + height, end_px=top),
        )

    def point(self, x: float, y: float) -> tuple[float, float]:
        """Give the coordinates of a value."""
        return self.across.at(x), self.up.at(y)

    def axes(self, across: str, up: str, *, most: int = 6) -> Svg:
        """Draw grid, ticks and words; ``up`` stands above the axis, where it is read first."""
        left, right, low, top = (self.across.start_px, self.across.end_px, self.up.start_px, self.up.end_px)
        drawn = []
        for tick in even_ticks(self.up.low, self.up.high, 5):
            y = self.up.at(tick)
            drawn += [
                line((left, y), (right, y), "grid"),
                text(left - 7, y + 4, tick_words(tick), kind="note", anchor="end"),
            ]
        for tick in even_ticks(self.across.low, self.across.high, most):
            x = self.across.at(tick)
            drawn += [
                line((x, low), (x, low + 5), "hair"),
                text(x, low + 18, tick_words(tick), kind="note", anchor="middle"),
            ]
        drawn += [
            line((left, low), (right, low), "edge"),
            text(left - 4, top - 10, up, kind="note"),
            text(right, low + 35, across, kind="note", anchor="end"),
        ]
        return group(*drawn, class_="ff-axes")
