"""List the quantities of rig.toml, each with its unit, its allowed range and the reason for it.

The bounds are common practice, no source.
"""

from typing import Final

from farface.files.tables import Entry

LASER: Final = (
    Entry(
        key="wavelength", field="wavelength_m", dimension="m", unit="nm", low="300 nm", high="3000 nm",
        why="outside that band the glasses known here let no light through to the far face",
        about="in vacuum",
    ),
    Entry(
        key="pulse_length", field="pulse_s", dimension="s", unit="ns", low="0.001 ns", high="1 ms",
        why="shorter pulses are absorbed in the glass itself, and longer ones are no pulses to the bath",
        about="full width at half maximum",
    ),
    Entry(
        key="rated_power", field="rated_power_w", dimension="W", unit="W", low="10 mW", high="2 kW",
        why="less moves nothing here and more is no laser of a bench",
        about="mean power at and above the corner rate",
    ),
    Entry(
        key="rated_energy", field="rated_energy_j", dimension="J", unit="mJ", low="1 nJ", high="10 J",
        why="a pulse must carry some energy, and more than this is no laser of a bench",
        about="of one pulse, at and below the corner rate",
    ),
    Entry(
        key="corner_rate", field="corner_hz", dimension="Hz", unit="kHz", low="1 Hz", high="100 MHz",
        why="that spans all repetitively pulsed lasers of a bench",
        about="where energy per pulse starts to fall: rated_power / rated_energy",
    ),
    Entry(
        key="rate_min", field="rate_min_hz", dimension="Hz", unit="kHz", low="1 Hz", high="100 MHz",
        why="that spans all repetitively pulsed lasers of a bench",
        about="lowest pulse rate that the laser takes",
    ),
    Entry(
        key="rate_max", field="rate_max_hz", dimension="Hz", unit="kHz", low="1 Hz", high="100 MHz",
        why="that spans all repetitively pulsed lasers of a bench",
        about="highest pulse rate that the laser takes",
    ),
    Entry(
        key="m2", field="m2", dimension="1", unit="", low="1", high="50",
        why="no beam is better than 1, and past 50 it comes to no focus worth the name",
        about="beam quality after ISO 11146",
    ),
)  # fmt: skip

LENS: Final = (
    Entry(
        key="focal_length", field="focal_m", dimension="m", unit="mm", low="1 mm", high="2 m",
        why="no scanner lens lies outside that",
        about="of the scanner lens",
    ),
    Entry(
        key="beam_radius", field="beam_radius_m", dimension="m", unit="mm", low="0.1 mm", high="100 mm",
        why="a beam must have a width, and more does not pass a scanner's mirrors",
        about="1/e2 radius of the beam that enters the lens",
    ),
)  # fmt: skip

SCANNER: Final = (
    Entry(
        key="field", field="field_m", dimension="m", unit="mm", low="1 mm", high="2 m",
        why="no scanner's field lies outside that",
        about="side of the square field",
    ),
    Entry(
        key="mark_speed_max", field="mark_max_m_per_s", dimension="m/s", unit="mm/s",
        low="1 mm/s", high="100 m/s",
        why="no scanner's speed lies outside that",
        about="fastest marking speed",
    ),
    Entry(
        key="jump_speed", field="jump_m_per_s", dimension="m/s", unit="mm/s", low="1 mm/s", high="100 m/s",
        why="no scanner's speed lies outside that",
        about="speed of a jump with the laser off",
    ),
    Entry(
        key="settle", field="settle_s", dimension="s", unit="us", low="0 us", high="1 s",
        why="a pause cannot be negative, and no mirror needs longer",
        about="pause after a jump",
    ),
)  # fmt: skip

PLATE_THICKNESS: Final = Entry(
    key="thickness", field="thickness_m", dimension="m", unit="mm", low="0.01 mm", high="50 mm",
    why="thinner does not bear its own handling, and thicker spoils the focus on its far face",
    about="",
)  # fmt: skip

PLATE: Final = (
    Entry(
        key="width", field="width_m", dimension="m", unit="mm", low="1 mm", high="2 m",
        why="smaller cannot be laid on a bath, and larger is no plate of a bench",
        about="",
    ),
    Entry(
        key="height", field="height_m", dimension="m", unit="mm", low="1 mm", high="2 m",
        why="smaller cannot be laid on a bath, and larger is no plate of a bench",
        about="",
    ),
)  # fmt: skip

CELL: Final = (
    Entry(
        key="width", field="width_m", dimension="m", unit="mm", low="1 mm", high="2 m",
        why="smaller holds no bath, and larger is no cell of a bench",
        about="inner",
    ),
    Entry(
        key="height", field="height_m", dimension="m", unit="mm", low="1 mm", high="1 m",
        why="smaller holds no bath, and larger is no cell of a bench",
        about="inner, from its floor to its rim",
    ),
    Entry(
        key="liquid_depth", field="liquid_depth_m", dimension="m", unit="mm", low="0.1 mm", high="1 m",
        why="the far face must meet a bath",
        about="from the floor to the far face",
    ),
)  # fmt: skip

CAMERA: Final = (
    Entry(
        key="frame_rate", field="frame_hz", dimension="Hz", unit="Hz", low="1 Hz", high="100 MHz",
        why="no camera runs outside that",
        about="true frames a second, not those of playback",
    ),
    Entry(
        key="exposure", field="exposure_s", dimension="s", unit="us", low="1 ns", high="1 s",
        why="no camera exposes outside that",
        about="of one frame",
    ),
    Entry(
        key="pixel", field="pixel_m", dimension="m", unit="um", low="0.1 um", high="5 mm",
        why="light resolves no less, and with more no bubble is seen",
        about="size of one pixel on the object",
    ),
)  # fmt: skip

SPOT_RADIUS: Final = Entry(
    key="radius", field="spot_radius_m", dimension="m", unit="um", low="0.2 um", high="5 mm",
    why="light comes to no smaller focus, and a larger one etches nothing",
    about="1/e2 radius at the far face",
)  # fmt: skip
