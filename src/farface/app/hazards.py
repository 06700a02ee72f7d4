"""Estimate the beam's hazards for a rig at a setting; nothing here is a clearance."""

from collections.abc import Iterator

from farface.app.answer import Answer, plain
from farface.app.settings import Typed, setting_of, show_setting
from farface.app.titles import titled
from farface.app.workbench import Workbench
from farface.kernel import in_unit, show_quantity
from farface.materials import liquid
from farface.optics.plate import reflected_share
from farface.optics.spot import rig_shares
from farface.records import Rig, Setting
from farface.report.content import Table
from farface.safety.estimates import HazardEstimates, enclosure_advice, estimates, show_metres
from farface.safety.exposure import NOT_A_CLEARANCE, TrainLimit
from farface.safety.eyewear import require_density

_WHAT = ("what", "value", "from")


def estimate_hazards(
    work: Workbench, typed: Typed, *, eyewear_optical_density: float | None = None
) -> Answer:
    """Estimate as `look_at_hazards` does, and record it."""
    answer = look_at_hazards(work, typed, eyewear_optical_density=eyewear_optical_density)
    request = {"typed": plain(typed), "eyewear_optical_density": eyewear_optical_density}
    work.publish("hazards", answer, request=request)
    return answer


def look_at_hazards(work: Workbench, typed: Typed, *, eyewear_optical_density: float | None = None) -> Answer:
    """Tell limits, eyewear and distances, each with what it was computed from; hold given eyewear to them.

    Raises `Refused` for eyewear whose density falls short of the estimate. Nothing is recorded.
    """
    setting = setting_of(work.rig, typed)
    found = estimates(
        work.rig.laser,
        work.rig.lens,
        pulse_energy_j=setting.pulse_energy_j,
        rate_hz=setting.rate_hz,
        mirrored_shares=mirrored_shares(work.rig),
    )
    if eyewear_optical_density is not None:
        require_density(eyewear_optical_density, needed=found.beam.eyewear, limit=found.stricter)
    return Answer(
        title=titled(work, f"Hazards of the beam at {show_setting(setting)}, {NOT_A_CLEARANCE}"),
        sentences=(*_sentences(found, eyewear_optical_density), *enclosure_advice(found), DEFER),
        tables=(
            Table(
                caption=f"Computed from ({NOT_A_CLEARANCE})",
                header=_WHAT,
                rows=tuple(_inputs(work.rig, setting, found)),
            ),
            Table(caption=f"Exposure limits ({NOT_A_CLEARANCE})", header=_WHAT, rows=tuple(_limits(found))),
            Table(
                caption=f"Ways out and how far each is a hazard ({NOT_A_CLEARANCE})",
                header=("way", "power", "full angle", "hazard to"),
                rows=tuple(_ways(found)),
            ),
        ),
        data={"setting": plain(setting), "estimates": plain(found), "words": NOT_A_CLEARANCE,
              "needed_optical_density": found.beam.eyewear.optical_density},
    )  # fmt: skip


DEFER = (
    "Every figure is an estimate, not a clearance: local codes and the responsible laser safety officer "
    "decide what is worn and enclosed."
)


def show_wavelength(wavelength_m: float) -> str:
    """Write a wavelength in nanometres, as eyewear does."""
    return f"{in_unit(wavelength_m, 'nm', 'm'):.4g} nm"


def mirrored_shares(rig: Rig) -> dict[str, float]:
    """Name the mirror-like surfaces near the focus, with the share of the light each throws back up."""
    shares = rig_shares(rig)
    water = liquid("water").index(rig.laser.wavelength_m)
    into_glass = (1.0 - shares.front_share) * (1.0 - shares.bulk_share)
    return {
        "the plate's front face": shares.front_share,
        "the plate's far face, wetted": into_glass**2 * shares.back_share,
        "the bath's surface, plate lifted": reflected_share(index_from=1.0, index_to=water),
        "a polished metal tool, at worst": 1.0,
    }


def _sentences(found: HazardEstimates, given: float | None) -> Iterator[str]:
    needed = found.beam.eyewear
    yield (
        "Eyewear for this wavelength and these pulses needs an optical density of "
        f"{needed.optical_density:.1f} or more, by estimate, and must itself withstand the beam, which "
        "its label says."
    )
    if given is not None:
        yield f"Yours says {given:g}, which is no less than the estimate asks for; that is no clearance."
    ratio = found.legal.limit_j_per_m2 / found.stricter.limit_j_per_m2
    if ratio > 1.0:
        yield (
            f"The later values are {ratio:.2g} times stricter here than the legal table; eyewear and "
            "distances rest on the stricter."
        )
    if found.skin_share > 1.0:
        yield f"The bare beam exceeds the limit for skin {found.skin_share:.2g} times: keep hands out of it."


def _inputs(rig: Rig, setting: Setting, found: HazardEstimates) -> Iterator[tuple[str, str, str]]:
    yield "wavelength", show_wavelength(rig.laser.wavelength_m), "rig.toml"
    yield "pulse", show_quantity(rig.laser.pulse_s, "s"), "rig.toml"
    yield "pulse energy", show_quantity(setting.pulse_energy_j, "J"), "the setting"
    yield "repetition rate", show_quantity(setting.rate_hz, "Hz"), "the setting"
    yield "mean power", show_quantity(setting.pulse_energy_j * setting.rate_hz, "W"), "E f"
    look = show_quantity(found.exposure_s, "s")
    yield "looked into for", look, "common practice for light that is not seen"
    yield "beam into the lens (1/e2 radius)", show_quantity(rig.lens.beam_radius_m, "m"), "rig.toml"
    yield "focal length", show_quantity(rig.lens.focal_m, "m"), "rig.toml"
    yield "pupil", "7 mm across", "Directive 2006/25/EC, Annex II"


def _limits(found: HazardEstimates) -> Iterator[tuple[str, str, str]]:
    single = found.single_legal
    yield "eye, one pulse, legal table", _exposure(single.limit_j_per_m2), single.table
    yield "eye, each pulse of the train, legal table", *_train(found.legal)
    yield "eye, each pulse of the train, the stricter", *_train(found.stricter)
    yield "skin, each pulse of the train", *_train(found.skin)
    needed = found.beam.eyewear
    yield (
        "a whole pulse through the pupil",
        _exposure(needed.exposure_j_per_m2),
        "pulse energy over the pupil's area",
    )
    yield "optical density needed", f"{needed.optical_density:.2f}", "log10(exposure / the stricter limit)"


def _train(limit: TrainLimit) -> tuple[str, str]:
    grouped = f"; {limit.pulses_per_group} pulses a group" if limit.pulses_per_group > 1 else ""
    return _exposure(limit.limit_j_per_m2), f"{limit.table}; {limit.governing}{grouped}"


def _exposure(limit_j_per_m2: float) -> str:
    return f"{limit_j_per_m2:.3g} J/m2"


def _ways(found: HazardEstimates) -> Iterator[tuple[str, str, str, str]]:
    for way in found.ways:
        angle = "all round" if way.divergence_rad is None else f"{1e3 * way.divergence_rad:.3g} mrad"
        yield way.name, show_quantity(way.power_w, "W"), angle, show_metres(way.distance_m)
