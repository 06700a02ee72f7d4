"""Hold what the section shows, and the few lengths that follow from it by geometry alone."""

import math
from dataclasses import dataclass, replace

from farface.kernel import OutOfRange
from farface.records import Known


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionView:
    """Hold the numbers of one section; ``cone_half_angle_rad`` is in air, before the plate.

    ``column_m`` is how far the superheated column reaches into the bath, ``etched_m`` how far the floor
    has risen into the glass, ``etched_width_m`` how wide it is (None: eight points). ``camera_field_m`` is
    width and height on the object; ``camera_above_m`` how much of the height lies above the far face (None:
    not known, drawn with a fifth above). None elsewhere means that the feature is absent or unknown.
    """

    title: str
    invented: bool
    calibrated: bool
    thickness_m: Known
    spot_radius_m: Known
    cone_half_angle_rad: float
    index: float
    absorption_length_m: Known
    pitch_m: float
    liquid_depth_m: float
    column_m: Known | None = None
    bubble_radius_m: Known | None = None
    etched_m: Known | None = None
    etched_width_m: float | None = None
    camera_field_m: tuple[float, float] | None = None
    camera_above_m: float | None = None


POINTS_SHOWN = 8
CAMERA_SHARE_ABOVE = 0.2


def checked(view: SectionView) -> SectionView:
    """Refuse a view that cannot be drawn; leave out features whose size is not a positive finite number.

    Raises `OutOfRange` for a length of plate, spot or bath that is not positive and finite, an index below
    1, and a cone that is none.
    """
    lengths = {
        "plate thickness": view.thickness_m.value,
        "spot radius": view.spot_radius_m.value,
        "absorption length": view.absorption_length_m.value,
        "pitch": view.pitch_m,
        "liquid depth": view.liquid_depth_m,
    }
    for name, length in lengths.items():
        if not (math.isfinite(length) and length > 0.0):
            raise OutOfRange(
                f"{name} is {length:g} m; a section needs a positive length. Give a measured one."
            )
    if not (math.isfinite(view.index) and view.index >= 1.0):
        raise OutOfRange(
            f"refractive index is {view.index:g}; glass has 1 or more. Name a glass that is listed."
        )
    if not 0.0 < view.cone_half_angle_rad < math.pi / 2:
        raise OutOfRange(
            f"cone half-angle is {view.cone_half_angle_rad:g} rad; geometry allows 0 to 1.57. "
            "Check the lens's focal length and the beam radius."
        )
    return replace(
        view,
        thickness_m=_finite(view.thickness_m),
        spot_radius_m=_finite(view.spot_radius_m),
        absorption_length_m=_finite(view.absorption_length_m),
        column_m=_present(view.column_m),
        bubble_radius_m=_present(view.bubble_radius_m),
        etched_m=_present(view.etched_m),
    )


def _present(known: Known | None) -> Known | None:
    """Give a feature's size, or None where there is no such feature."""
    if known is None or not (math.isfinite(known.value) and known.value > 0.0):
        return None
    return _finite(known)


def _finite(known: Known) -> Known:
    """Take an uncertainty that is not finite for one as large as the value."""
    return known if math.isfinite(known.sd) else replace(known, sd=abs(known.value))


def beam_radius_m(view: SectionView, below_m: float) -> float:
    """Give the beam's radius at a height counted downwards from the untouched far face.

    w = sqrt(w0^2 + (slope d)^2) along the glass from the etched floor, where the waist is; in the glass the
    slope is tan(asin(sin(theta)/n)), in air above the plate tan(theta). Below the floor the glass's slope is
    kept, which leaves out the bath's own index.
    """
    in_glass = math.tan(math.asin(math.sin(view.cone_half_angle_rad) / view.index))
    in_air = math.tan(view.cone_half_angle_rad)
    from_floor_m = abs(below_m + etched_depth_m(view))
    above_front_m = max(0.0, -below_m - view.thickness_m.value)
    spread_m = in_glass * (from_floor_m - above_front_m) + in_air * above_front_m
    return math.hypot(view.spot_radius_m.value, spread_m)


def etched_depth_m(view: SectionView) -> float:
    """Give how far the floor has risen into the glass, never past the front face."""
    return 0.0 if view.etched_m is None else min(view.etched_m.value, view.thickness_m.value)


def column_end_m(view: SectionView) -> float:
    """Give how far below the untouched far face the superheated column ends (0 without one)."""
    return 0.0 if view.column_m is None else max(0.0, view.column_m.value - etched_depth_m(view))


def bubble_centre_m(view: SectionView) -> float:
    """Give the depth of the bubble's centre: the middle of the column that became vapour."""
    return (column_end_m(view) - etched_depth_m(view)) / 2 if view.column_m is not None else 0.0


def bubble_bottom_m(view: SectionView) -> float:
    """Give the lowest point of the bubble at its largest (0 without one)."""
    if view.bubble_radius_m is None:
        return 0.0
    return bubble_centre_m(view) + view.bubble_radius_m.value


def etched_half_width_m(view: SectionView) -> float:
    """Give half the width of the etched floor."""
    if view.etched_width_m is not None:
        return view.etched_width_m / 2
    return view.spot_radius_m.value + view.pitch_m * (POINTS_SHOWN - 1) / 2


def camera_edges_m(view: SectionView) -> tuple[float, float, float] | None:
    """Give half-width, upper and lower edge of the camera's field, counted downwards from the far face."""
    if view.camera_field_m is None:
        return None
    width_m, height_m = view.camera_field_m
    above_m = CAMERA_SHARE_ABOVE * height_m if view.camera_above_m is None else view.camera_above_m
    return width_m / 2, -above_m, height_m - above_m
