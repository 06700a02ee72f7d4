"""The rig: laser, lens, scanner, plate, cell and camera, which do not change from run to run."""

from dataclasses import dataclass

from farface.records.known import Known


@dataclass(frozen=True, slots=True, kw_only=True)
class Laser:
    """Describe a pulsed laser; below ``corner_hz`` its pulses carry ``rated_energy_j``."""

    wavelength_m: float
    pulse_s: float
    rated_power_w: float
    rated_energy_j: float
    corner_hz: float
    rate_min_hz: float
    rate_max_hz: float
    m2: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Lens:
    """Describe the focusing lens and the 1/e2 radius of the beam that enters it."""

    focal_m: float
    beam_radius_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Scanner:
    """Describe the scanner: a square field of side ``field_m``, its speeds, and its pause after a jump."""

    field_m: float
    mark_max_m_per_s: float
    jump_m_per_s: float
    settle_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Plate:
    """Describe a plate; ``glass`` names a file of `farface.materials`."""

    glass: str
    thickness_m: Known
    width_m: float
    height_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """Describe the clear cell that holds the bath; lengths are inner ones."""

    width_m: float
    height_m: float
    liquid_depth_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Camera:
    """Describe the high-speed camera; ``pixel_m`` is the size of a pixel on the object."""

    frame_hz: float
    exposure_s: float
    pixel_m: float
    width_px: int
    height_px: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Rig:
    """Join the parts of one set-up; ``spot_radius_m`` is the 1/e2 radius at the far face, if measured."""

    name: str
    invented: bool
    laser: Laser
    lens: Lens
    scanner: Scanner
    plate: Plate
    cell: Cell
    camera: Camera | None = None
    spot_radius_m: Known | None = None
