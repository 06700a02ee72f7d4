"""Read round things in a picture that nobody here made: scikit-image's photograph of 24 Greek coins.

The picture comes with scikit-image (skimage.data.coins; from the Brooklyn Museum, no known copyright
restrictions) and is not kept here. It is turned dark on bright and shown after empty frames, as a film. Coins
are bright, worn, lit from one side and not quite round, so tolerances are those of coins and not of bubbles.
"""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import ndimage

from farface.footage.read import read_events
from farface.footage.see import learn_empty, see_stretch
from farface.records import FilmScale

SCALE = FilmScale(frame_hz=30_000.0, exposure_s=8e-6, pixel_m=1e-5, face_row_px=-20.0)
COINS = 24  # counted by eye
AREA_RADIUS = 0.12  # relative: a worn coin's outline by threshold against a disc fitted to its edge
CENTRE_PX = 3.0
FOUND = 17  # of the 24: the others are lit too unevenly to look like one disc
ASTRAY = 1  # disc that is no coin by threshold, at most


def _film() -> tuple[NDArray[np.uint8], NDArray[np.bool_]]:
    """Turn the photograph about, evened out by its ground, into frames; with a mask of coins by threshold."""
    data = pytest.importorskip("skimage.data", reason="scikit-image, whose coins are read, is not installed")
    coins = np.asarray(data.coins(), dtype=np.float64)
    ground = ndimage.gaussian_filter(ndimage.minimum_filter(coins, 61), 30.0)
    lit = np.clip(coins - ground, 0.0, 150.0)
    rng = np.random.default_rng(6)
    empty = 200.0 + rng.normal(0.0, 3.0, (70, *coins.shape))
    shown = empty[:6] - lit
    frames = np.concatenate([empty, shown, empty[:8]])
    from skimage.filters import threshold_otsu

    solid = ndimage.binary_fill_holes(ndimage.gaussian_filter(lit, 1.5) > threshold_otsu(lit))
    opened = np.asarray(ndimage.binary_opening(solid, None, 3))
    return np.clip(np.rint(frames), 0, 255).astype(np.uint8), opened


@pytest.mark.slow
@pytest.mark.exact
def test_coins_are_found_where_a_general_library_sees_them() -> None:
    frames, solid = _film()
    labels, count = ndimage.label(solid)
    areas = ndimage.sum_labels(solid, labels, range(1, count + 1))
    centres = ndimage.center_of_mass(solid, labels, range(1, count + 1))
    seen = see_stretch(frames[70:71], learn_empty(frames[:64], SCALE), SCALE)
    agreed = 0
    for area, (row, column) in zip(areas, centres, strict=True):
        radius = np.sqrt(area / np.pi)
        near = np.hypot(seen.discs["row"] - row, seen.discs["column"] - column) < CENTRE_PX
        agreed += bool(np.any(near & (np.abs(seen.discs["radius"] / radius - 1.0) < AREA_RADIUS)))
    assert count == COINS
    assert agreed >= FOUND
    assert seen.discs.size - agreed <= ASTRAY


@pytest.mark.slow
def test_coins_shown_for_six_frames_are_followed() -> None:
    frames, _ = _film()
    events = read_events(frames, SCALE, "coins")
    assert FOUND <= len(events.reading.bubbles) <= COINS
