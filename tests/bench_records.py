"""An invented rig and bath for tests."""

from farface.records import Bath, Camera, Cell, Known, Laser, Lens, Plate, Rig, Scanner

RIG = Rig(
    name="test rig",
    invented=True,
    laser=Laser(
        wavelength_m=1064e-9, pulse_s=8e-9, rated_power_w=30.0, rated_energy_j=1.25e-3, corner_hz=24e3,
        rate_min_hz=10e3, rate_max_hz=100e3, m2=1.5,
    ),
    lens=Lens(focal_m=0.16, beam_radius_m=3.5e-3),
    scanner=Scanner(field_m=0.11, mark_max_m_per_s=2.0, jump_m_per_s=3.0, settle_s=55e-6),
    plate=Plate(
        glass="borosilicate_low_expansion", thickness_m=Known(value=1.1e-3, sd=2e-5, how="measured"),
        width_m=0.05, height_m=0.05,
    ),
    cell=Cell(width_m=0.06, height_m=0.06, liquid_depth_m=0.012),
    camera=Camera(frame_hz=30e3, exposure_s=8e-6, pixel_m=10e-6, width_px=320, height_px=192),
    spot_radius_m=Known(value=20e-6, sd=1.5e-6, how="measured"),
)  # fmt: skip
BATH = Bath(
    name="test bath",
    invented=True,
    salt="copper_sulfate_pentahydrate",
    copper_mol_per_m3=1000.0,
    acid_mol_per_m3=0.0,
    molar_absorption_m2_per_mol=Known(value=0.45, sd=0.15, how="assumed"),
)
