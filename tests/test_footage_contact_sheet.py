"""Hold the contact sheet to what it must show."""

import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from farface.records import Bubble, FilmReading, FilmScale, Flash
from farface.report.contact_sheet import MARK, contact_sheet_png, contact_sheet_svg, sheet_frames

SCALE = FilmScale(frame_hz=30_000.0, exposure_s=3e-6, pixel_m=20e-6, face_row_px=40.0)


def _bubble(first: int, radii_px: tuple[float, ...]) -> Bubble:
    times_s = tuple((first + k) / SCALE.frame_hz + 1.5e-6 for k in range(len(radii_px)))
    return Bubble(
        first_s=times_s[0],
        life_s=len(radii_px) / SCALE.frame_hz,
        along_m=1e-3,
        below_m=5e-4,
        radius_max_m=max(radii_px) * SCALE.pixel_m,
        times_s=times_s,
        radii_m=tuple(radius_px * SCALE.pixel_m for radius_px in radii_px),
    )


def _flash(time_s: float) -> Flash:
    return Flash(time_s=time_s, along_m=0.0, below_m=0.0, area_m2=1e-8, brightness=1e4, frames_lit=1)


@pytest.fixture(scope="module")
def reading() -> FilmReading:
    return FilmReading(
        film="drawn.mp4",
        scale=SCALE,
        frames=100,
        duration_s=100 / SCALE.frame_hz,
        flashes=tuple(_flash(k * 2e-4) for k in range(12)),
        bubbles=(_bubble(10, (5.0, 9.0, 6.0)), _bubble(50, (6.0, 12.0, 14.0, 11.0))),
    )


def _frames(reading: FilmReading) -> dict[int, NDArray[np.uint8]]:
    return {number: np.full((96, 128), 150, dtype=np.uint8) for number in sheet_frames(reading)}


def test_frames_shown_are_those_around_the_biggest_bubble(reading: FilmReading) -> None:
    assert sheet_frames(reading) == (49, 50, 51, 52, 53, 54)
    long = replace(reading, bubbles=(_bubble(0, (9.0,) * 60),))
    assert len(sheet_frames(long)) == 8
    assert (sheet_frames(long)[0], sheet_frames(long)[-1]) == (0, 60)
    assert sheet_frames(replace(reading, bubbles=(), frames=5)) == (0, 1, 2, 3, 4)


def test_sheet_marks_the_bubble_in_every_frame_that_shows_it(reading: FilmReading) -> None:
    marked = contact_sheet_svg(reading, _frames(reading), invented=False)
    gone = replace(
        reading, bubbles=(replace(reading.bubbles[1], times_s=(50 / 3e4 + 1.5e-6,), radii_m=(1e-4,)),)
    )
    fewer = contact_sheet_svg(gone, _frames(reading), invented=False)
    circles = [
        text.count(f"stroke: {MARK}; stroke-width: 1.2; stroke-linejoin: miter") for text in (marked, fewer)
    ]
    assert circles == [4, 1]
    ET.fromstring(marked)


def test_invented_data_are_called_so(reading: FilmReading) -> None:
    assert "<!-- invented data -->" in contact_sheet_svg(reading, _frames(reading), invented=True)
    assert "invented" not in contact_sheet_svg(reading, _frames(reading), invented=False)


def test_same_reading_gives_the_same_sheet(reading: FilmReading) -> None:
    first, again = (contact_sheet_svg(reading, _frames(reading), invented=True) for _ in range(2))
    assert first == again
    assert contact_sheet_png(reading, _frames(reading), invented=True).startswith(b"\x89PNG")


def test_a_film_with_nothing_on_it_says_so(reading: FilmReading) -> None:
    empty = replace(reading, bubbles=(), flashes=(), stopped="the file ends after 100 of 200 frames")
    sheet = contact_sheet_svg(empty, _frames(empty), invented=False)
    assert sheet.count("<!-- no bubble was read -->") == 2
    assert "<!-- fewer than two flashes were read -->" in sheet
    assert "read in part: the file ends after 100 of 200 frames" in sheet
