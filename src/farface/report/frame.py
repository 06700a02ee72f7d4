"""Map a cut through plate and bath to picture coordinates, with one scale for both directions."""

from dataclasses import dataclass

from farface.report.svg import Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """Hold a panel and its scale; across is 0 on the beam's axis, below is 0 at the untouched far face."""

    left_px: float
    top_px: float
    width_px: float
    height_px: float
    px_per_m: float
    axis_px: float
    face_px: float

    def across(self, across_m: float) -> float:
        """Give the horizontal coordinate."""
        return self.axis_px + across_m * self.px_per_m

    def below(self, below_m: float) -> float:
        """Give the vertical coordinate."""
        return self.face_px + below_m * self.px_per_m

    def point(self, x_m: float, y_m: float) -> Point:
        """Give both coordinates of a place ``x_m`` across and ``y_m`` below."""
        return self.across(x_m), self.below(y_m)

    @property
    def right_px(self) -> float:
        """Give the right edge."""
        return self.left_px + self.width_px

    @property
    def bottom_px(self) -> float:
        """Give the lower edge."""
        return self.top_px + self.height_px

    @property
    def top_m(self) -> float:
        """Give the upper edge, in metres below the face (negative: above it)."""
        return (self.top_px - self.face_px) / self.px_per_m

    @property
    def bottom_m(self) -> float:
        """Give the lower edge, in metres below the face."""
        return (self.bottom_px - self.face_px) / self.px_per_m

    @property
    def half_width_m(self) -> float:
        """Give half the panel's width in metres."""
        return self.width_px / 2 / self.px_per_m


def fitted(
    *,
    left_px: float,
    top_px: float,
    width_px: float,
    height_px: float,
    above_m: float,
    below_m: float,
    half_width_m: float,
) -> Frame:
    """Choose the largest scale at which all that must be seen fits; a third of spare height goes above."""
    px_per_m = min(width_px / (2 * half_width_m), height_px / (above_m + below_m))
    spare_px = height_px - (above_m + below_m) * px_per_m
    return Frame(
        left_px=left_px,
        top_px=top_px,
        width_px=width_px,
        height_px=height_px,
        px_per_m=px_per_m,
        axis_px=left_px + width_px / 2,
        face_px=top_px + above_m * px_per_m + spare_px / 3,
    )
