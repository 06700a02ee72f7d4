"""Plan a film: what the camera must do for a bubble and for every pulse, and what the rig's camera does."""

from dataclasses import dataclass, replace
from typing import Final

from farface.app.answer import Answer, plain
from farface.app.settings import Typed, setting_of
from farface.app.workbench import Workbench
from farface.footage.camera_plan import CameraNeeds, CameraOffer, needs, offer
from farface.kernel import Missing, OutOfRange, parse_quantity
from farface.kernel import show_quantity as say
from farface.records import Camera
from farface.report.content import Table

LIFE: Final = "50 us"  # common practice, no source: the shortest bubbles worth seeing
LENGTH: Final = "1 s"
MEGABYTE: Final = 1e6


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmWish:
    """Hold what the person wants to see, as typed; the rig's camera fills in the rest."""

    life: str = LIFE
    length: str = LENGTH
    frame_rate: str | None = None
    exposure: str | None = None
    pixel: str | None = None


def plan_film(work: Workbench, wish: FilmWish, typed: Typed) -> Answer:
    """Compare what a bubble's life and the pulses ask of a camera with what the rig's camera does."""
    rate_hz = setting_of(work.rig, typed).rate_hz
    camera = _camera(work.rig.camera, wish)
    need = needs(life_s=parse_quantity(wish.life, "s", what="the bubble's life"), pixel_m=camera.pixel_m)
    length_s = parse_quantity(wish.length, "s", what="the length of the film")
    if length_s <= 0.0:
        raise OutOfRange(f'the length of the film is "{wish.length}"; it must be above zero. Give more.')
    offered = offer(camera, need, rate_hz=rate_hz, film_s=length_s)
    answer = Answer(
        title=f"Film of a bubble that lives {say(need.life_s, 's')}, at {say(rate_hz, 'Hz')}",
        sentences=_sentences(camera, need, offered, rate_hz),
        tables=(_table(camera, need, offered, rate_hz, length_s),),
        data={"camera": plain(camera), "needs": plain(need), "offer": plain(offered)},
    )
    work.publish("camera", answer, request={"wish": plain(wish), "typed": plain(typed)})
    return answer


def _camera(known: Camera | None, wish: FilmWish) -> Camera:
    """Take the rig's camera with what was typed in its place."""
    if known is None:
        raise Missing("the rig has no camera, so there is nothing to plan with. Describe one in rig.toml.")
    return replace(
        known,
        frame_hz=_typed(wish.frame_rate, "Hz", "the frame rate", known.frame_hz),
        exposure_s=_typed(wish.exposure, "s", "the exposure", known.exposure_s),
        pixel_m=_typed(wish.pixel, "m", "the size of a pixel", known.pixel_m),
    )


def _typed(text: str | None, dimension: str, what: str, known: float) -> float:
    """Read a value above zero, or take the one known where none was typed."""
    if text is None:
        return known
    value = parse_quantity(text, dimension, what=what)
    if value <= 0.0:
        raise OutOfRange(f'{what} is "{text}"; it must be above zero. Give a positive value.')
    return value


def _sentences(camera: Camera, need: CameraNeeds, offered: CameraOffer, rate_hz: float) -> tuple[str, ...]:
    """Say what this camera shows, and which trade would show more."""
    said = [
        f"Such a bubble grows to about {say(need.radius_m, 'm', digits=2)} in radius "
        f"({need.radius_m / camera.pixel_m:.0f} px) and is in {offered.life_in_frames:.1f} frames."
    ]
    if camera.frame_hz < need.frame_hz:
        said.append(_trade(camera, need, offered))
    if camera.frame_hz < rate_hz:
        said.append(
            f"Pulses come faster than frames: no setting of the shutter shows every pulse. Film at "
            f"{say(rate_hz, 'Hz')} or more, or lower the laser's rate for the film."
        )
    if offered.open_share < 0.95:
        said.append(
            f"The shutter is open {100 * offered.open_share:.0f} % of the time, and so many of the flashes "
            "are seen. Film flashes with the shutter as long open as it goes; film bubbles with it short."
        )
    if camera.exposure_s > need.exposure_max_s:
        said.append(
            f"An edge moves more than a pixel in an exposure: {say(need.exposure_max_s, 's', digits=2)} is "
            f"sharp, and needs {offered.light_ratio:.1f} times the light."
        )
    if camera.pixel_m > need.pixel_max_m:
        said.append(
            f"The bubble is too small in the picture: a pixel of {say(need.pixel_max_m, 'm', digits=2)} or "
            "less on the object would do."
        )
    return tuple(said)


def _trade(camera: Camera, need: CameraNeeds, offered: CameraOffer) -> str:
    """Say what must be given up for the frame rate needed."""
    wanted = f"Its life can be measured from {say(need.frame_hz, 'Hz', digits=2)} up; "
    if offered.rows_at_need == 0:
        return wanted + "this camera does not get there even with a narrow strip of its picture."
    return wanted + (
        f"at the pixels a second it reads now this camera would show {offered.rows_at_need} of its "
        f"{camera.height_px} rows at that rate, {say(offered.rows_at_need * camera.pixel_m, 'm')} high."
    )


def _table(camera: Camera, need: CameraNeeds, offered: CameraOffer, rate_hz: float, length_s: float) -> Table:
    beat = "never drift apart" if offered.beat_s == float("inf") else say(offered.beat_s, "s")
    playback_s = length_s * camera.frame_hz / 25.0
    rows = (
        ("frame rate to measure the life", say(need.frame_hz, "Hz"), say(camera.frame_hz, "Hz")),
        ("frame rate to glimpse the bubble", say(need.glimpse_hz, "Hz"), ""),
        ("frame rate to show every pulse", say(rate_hz, "Hz"), ""),
        ("exposure", f"up to {say(need.exposure_max_s, 's')}", say(camera.exposure_s, "s")),
        ("light", "", f"{offered.light_ratio:.1f} times today's"),
        ("pixel on the object", f"up to {say(need.pixel_max_m, 'm')}", say(camera.pixel_m, "m")),
        ("field", f"{say(2 * need.radius_m, 'm')} for one bubble",
         f"{say(offered.width_m, 'm')} by {say(offered.height_m, 'm')}"),
        ("frames and pulses fall together every", "", beat),
        (f"film of {say(length_s, 's')}, raw, 8 bit", "",
         f"{offered.file_bytes / MEGABYTE:.0f} MB; plays {playback_s:.0f} s at 25 frames/s"),
    )  # fmt: skip
    return Table(
        caption="What it takes, and what this camera does",
        header=("what", "needed", "this camera"),
        rows=rows,
    )
