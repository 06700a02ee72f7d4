"""Hold the reading of discs to a slow twin and to drawn truth."""

import math
from dataclasses import dataclass, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from numpy.typing import NDArray
from scipy import ndimage

from farface.footage.background import FACE_GUARD_PX, Background, learn_background
from farface.footage.components import FEWEST_PIXELS, find_patches
from farface.footage.disc_seat import seat_on_face
from farface.footage.discs import discs_of
from farface.footage.drawn import FilmTruth, TrueBubble, TrueDisc, discs_in_frame, draw_film
from farface.footage.median import median_grey
from farface.footage.runs import BRIGHT, DARK
from farface.kernel import Missing
from farface.records import FilmScale

SCALE = FilmScale(frame_hz=30_000.0, exposure_s=3e-6, pixel_m=20e-6, face_row_px=40.3, face_slope=0.01)
PIXEL_M = SCALE.pixel_m
ROUNDING = 1e-9  # px and grey: sums of whole numbers
CIRCLE = 1e-6  # relative: two ways to solve the same normal equations
GRAIN_PX = 0.3  # px: edges of a disc drawn in whole pixels

# What the reading is held to, at contrasts of four noise sigmas and up, radius 4 to 30 px.
RECALL = 0.98
PRECISION = 0.98
RADIUS_RMS_PX = {4.0: 0.10, 45.0: 0.02}  # px, by contrast in sigmas; bubbles clear of the face
CENTRE_RMS_PX = {4.0: 0.15, 45.0: 0.04}  # px, both axes together
BIAS_PX = 0.03  # px, of the radius
# Half of a half-bubble hides, and with it most of what tells its radius from its height; one whose centre
# lies on the face is seated there.
OFF_FACE_RADIUS_RMS_PX = {4.0: 0.45, 45.0: 0.06}
SEATED_RADIUS_RMS_PX = {4.0: 0.17, 45.0: 0.02}
SEATED_CENTRE_RMS_PX = {4.0: 0.20, 45.0: 0.035}


@given(
    frame=arrays(
        np.uint8, st.tuples(st.integers(1, 24), st.integers(1, 30)), elements=st.sampled_from([0, 90, 255])
    ),
)
@settings(max_examples=60)
def test_patches_are_those_of_a_slow_twin(frame: NDArray[np.uint8]) -> None:
    """Connected components by scipy.ndimage.label, either kind on its own."""
    frames = np.stack([np.full_like(frame, 90), frame])
    patches, odd = find_patches(frames, _flat(frame.shape))
    assert odd.tolist() == [0, int(np.sum(frame != 90))]
    twin = [*_twin(frame, DARK, frame < 50), *_twin(frame, BRIGHT, frame > 200)]
    found = [
        tuple(p) for p in patches[["kind", "pixels", "column", "row", "excess", "excess_squared"]].tolist()
    ]
    assert set(patches["frame"].tolist()) <= {1}
    assert len(found) == len(twin)
    assert np.array(sorted(found)) == pytest.approx(np.array(sorted(twin)), abs=ROUNDING)


def _twin(frame: NDArray[np.uint8], kind: int, mask: NDArray[np.bool_]) -> list[tuple[float, ...]]:
    labels, count = ndimage.label(mask, structure=np.ones((3, 3)))
    found = []
    for label in range(1, count + 1):
        rows, columns = np.nonzero(labels == label)
        if rows.size >= FEWEST_PIXELS:
            excess = frame[rows, columns].astype(float) - 90.0
            sums = (float(excess.sum()), float((excess**2).sum()))
            found.append((kind, rows.size, float(columns.mean()), float(rows.mean()), *sums))
    return found


@pytest.mark.exact
def test_worst_case_frames_fit_into_memory() -> None:
    """A chequerboard of dark and bright pixels makes as many runs as pixels, and two patches."""
    board = np.where(np.add.outer(np.arange(31), np.arange(47)) % 2, 0, 255).astype(np.uint8)
    patches, odd = find_patches(board[None], _flat(board.shape))
    assert odd[0] == board.size
    assert sorted(patches["kind"].tolist()) == [DARK, BRIGHT]
    assert int(patches["pixels"].sum()) == board.size


@pytest.mark.exact
def test_many_patches_over_many_frames_are_all_kept() -> None:
    frame = np.full((60, 60), 90, dtype=np.uint8)
    for row in range(0, 56, 4):
        for column in range(0, 56, 4):
            frame[row : row + 3, column : column + 3] = 0
    patches, _ = find_patches(np.stack([frame] * 20), _flat(frame.shape))
    assert np.bincount(patches["frame"]).tolist() == [14 * 14] * 20


@pytest.mark.exact
@given(seed=st.integers(0, 10_000))
@settings(max_examples=40)
def test_first_circle_is_that_of_a_slow_twin(seed: int) -> None:
    """Kasa's fit by a general least-squares solver, over the outermost edges that lie within the frame."""
    rng = np.random.default_rng(seed)
    rows, columns = np.mgrid[0:30, 0:40]
    frame = np.full(rows.shape, 90, dtype=np.uint8)
    column, row, radius = rng.uniform(0.0, 40.0), rng.uniform(0.0, 30.0), rng.uniform(3.0, 12.0)
    frame[np.hypot(columns - column, rows - row) < radius + rng.uniform(-1.0, 1.0, rows.shape)] = 0
    patches, _ = find_patches(frame[None], _flat(frame.shape))
    labels, _ = ndimage.label(frame < 50, structure=np.ones((3, 3)))
    for patch in patches:
        inside = labels == labels[_pixel_in(labels, patch)]
        edges = []
        for i in np.nonzero(inside.any(axis=1))[0]:
            first, last = np.nonzero(inside[i])[0][[0, -1]]
            edges += [(first - 0.5, i)] if first > 0 else []
            edges += [(last + 0.5, i)] if last < 39 else []
        if len(edges) > 5:
            x, y = np.array(edges, dtype=float).T
            a, b, c = np.linalg.lstsq(np.stack([2 * x, 2 * y, np.ones_like(x)], axis=1), x**2 + y**2)[0]
            circle = (patch["circle_column"], patch["circle_row"], patch["circle_radius"])
            assert circle == pytest.approx((a, b, math.sqrt(c + a * a + b * b)), rel=CIRCLE)


@pytest.mark.exact
def test_where_a_bubble_is_hidden_it_has_no_edge() -> None:
    """A disc cut off by a straight border that hides the rest keeps its circle, to a pixel's grain."""
    rows, columns = np.mgrid[0:60, 0:60]
    frame = np.where(np.hypot(columns - 30.0, rows - 30.0) < 15.0, 0, 90).astype(np.uint8)
    seen = (columns > 26).astype(np.uint8)
    flat = _flat(frame.shape)
    hidden = replace(flat, usable=seen, dark_limit=flat.dark_limit * seen)
    patch = find_patches(frame[None], hidden)[0][0]
    circle = (patch["circle_column"], patch["circle_row"], patch["circle_radius"])
    assert circle == pytest.approx((30.0, 30.0, 15.0), abs=GRAIN_PX)


def _pixel_in(labels: NDArray[np.int32], patch: np.void) -> tuple[int, int]:
    """Find a pixel of a patch: the patch of its size and mean place."""
    for label in range(1, labels.max() + 1):
        rows, columns = np.nonzero(labels == label)
        if rows.size == patch["pixels"] and rows.mean() == pytest.approx(patch["row"]):
            return int(rows[0]), int(columns[0])
    raise AssertionError("no such patch")


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """Hold how well discs were read: shares, and errors in pixels, shape (discs, column row radius)."""

    recall: float
    precision: float
    errors_px: NDArray[np.float64]

    @property
    def radius_rms_px(self) -> float:
        return float(np.sqrt(np.mean(self.errors_px[:, 2] ** 2)))

    @property
    def centre_rms_px(self) -> float:
        return float(np.sqrt(np.mean(np.sum(self.errors_px[:, :2] ** 2, axis=1))))


@pytest.mark.drawn_truth
@pytest.mark.parametrize(("sigmas", "noise_grey"), [(4.0, 8.0), (45.0, 3.0)])
def test_bubbles_clear_of_the_face(sigmas: float, noise_grey: float) -> None:
    score = _score(_film(sigmas, noise_grey, attached=False))
    assert score.recall >= RECALL
    assert score.precision >= PRECISION
    assert score.radius_rms_px < RADIUS_RMS_PX[sigmas]
    assert score.centre_rms_px < CENTRE_RMS_PX[sigmas]
    assert abs(float(score.errors_px[:, 2].mean())) < BIAS_PX


@pytest.mark.drawn_truth
@pytest.mark.parametrize(("sigmas", "noise_grey"), [(4.0, 8.0), (45.0, 3.0)])
def test_half_bubbles_near_the_face(sigmas: float, noise_grey: float) -> None:
    """Centres within a tenth of the radius of the face: most are seated on it and should not be."""
    score = _score(_film(sigmas, noise_grey, attached=True))
    assert score.recall >= RECALL
    assert score.precision >= PRECISION
    assert score.radius_rms_px < OFF_FACE_RADIUS_RMS_PX[sigmas]


@pytest.mark.drawn_truth
@pytest.mark.parametrize(("sigmas", "noise_grey"), [(4.0, 8.0), (45.0, 3.0)])
def test_half_bubbles_on_the_face_are_seated(sigmas: float, noise_grey: float) -> None:
    truth = _film(sigmas, noise_grey, attached=True)
    on_face = tuple(replace(bubble, below_m=0.0) for bubble in truth.bubbles)
    score = _score(replace(truth, bubbles=on_face))
    assert score.recall >= RECALL
    assert score.precision >= PRECISION
    assert score.radius_rms_px < SEATED_RADIUS_RMS_PX[sigmas]
    assert score.centre_rms_px < SEATED_CENTRE_RMS_PX[sigmas]
    assert abs(float(score.errors_px[:, 2].mean())) < BIAS_PX


@pytest.mark.exact
def test_seating_is_the_gaussian_given_that_the_centre_lies_on_the_face() -> None:
    rng = np.random.default_rng(4)
    root = rng.normal(size=(5, 5))
    square, disc = root @ root.T + np.eye(5), np.array([30.0, 52.0, 14.0, 1.0, 90.0])
    row, slope = 50.0, 0.05
    gradient = np.array([-slope, 1.0, 0.0, 0.0, 0.0])  # of the distance, but for a factor
    off = gradient @ disc - row
    covariance = np.linalg.inv(square)
    given_zero = disc - covariance @ gradient * off / (gradient @ covariance @ gradient)
    seated = disc.copy()
    assert seat_on_face(seated, square, row, slope, 50.0)
    assert seated == pytest.approx(given_zero)
    assert seated[1] == pytest.approx(row + slope * seated[0])
    assert not seat_on_face(disc.copy(), square, row, slope, 1e-3)
    assert not seat_on_face(np.array([30.0, 90.0, 14.0, 1.0, 90.0]), square, row, slope, 1e6)


@pytest.mark.drawn_truth
def test_a_disc_cut_by_the_rim_of_the_frame_keeps_its_radius() -> None:
    bubble = TrueBubble(
        start_s=-1.0, along_m=2 * PIXEL_M, below_m=80 * PIXEL_M, radius_max_m=12 * PIXEL_M, life_s=2.0
    )
    truth = replace(_film(20.0, 5.0, attached=False), bubbles=(bubble,), frames=1)
    background = _background(truth)
    frames = draw_film(truth, np.random.default_rng(1))
    discs = discs_of(frames, background, find_patches(frames, background)[0])
    assert discs["radius"].tolist() == pytest.approx([12.0], abs=0.15)


@pytest.mark.drawn_truth
def test_noise_and_square_dirt_are_no_bubbles() -> None:
    truth = replace(_film(20.0, 8.0, attached=False), bubbles=(), frames=200)
    background = _background(truth)
    frames = draw_film(truth, np.random.default_rng(2))
    frames[:, 100:103, 50:110] = 20
    assert discs_of(frames, background, find_patches(frames, background)[0]).size == 0


def test_too_few_frames_for_a_background() -> None:
    with pytest.raises(Missing, match="at least 8"):
        learn_background(np.zeros((7, 20, 20), dtype=np.uint8), SCALE)


@pytest.mark.exact
@given(arrays(np.uint8, st.tuples(st.integers(1, 9), st.integers(1, 5), st.integers(1, 40))))
def test_median_grey_is_numpys(frames: NDArray[np.uint8]) -> None:
    assert np.array_equal(median_grey(frames), np.median(frames, axis=0))


def test_background_is_the_median_and_noise_that_of_a_pixel() -> None:
    truth = replace(_film(20.0, 5.0, attached=False), vignetting=0.0)
    background = learn_background(draw_film(replace(truth, frames=32), np.random.default_rng(3)), SCALE)
    assert background.noise_grey == pytest.approx(5.0, rel=0.03)
    assert float(np.median(background.grey[100:])) == pytest.approx(truth.bath_grey, abs=0.2)
    below_px = np.nonzero(background.usable[:, 0])[0][0] - SCALE.face_row_px
    assert FACE_GUARD_PX < below_px <= FACE_GUARD_PX + 1.0


def _flat(shape: tuple[int, ...]) -> Background:
    return Background(
        grey=np.full(shape, 90.0, dtype=np.float32),
        noise_grey=5.0,
        dark_limit=np.full(shape, 50, dtype=np.uint8),
        bright_limit=np.full(shape, 200, dtype=np.uint8),
        usable=np.ones(shape, dtype=np.uint8),
    )


def _background(truth: FilmTruth) -> Background:
    empty = replace(truth, bubbles=(), frames=48)
    return learn_background(draw_film(empty, np.random.default_rng(99)), truth.scale)


def _film(sigmas: float, noise_grey: float, *, attached: bool) -> FilmTruth:
    """Draw up a film of bubbles of 4 to 30 px, one or two at a time; half-bubbles from 8 px on."""
    rng = np.random.default_rng(12)
    bubbles = []
    for number in range(60):
        radius_m = rng.uniform(8.0 if attached else 4.0, 30.0) * PIXEL_M
        below_m = (
            rng.uniform(-0.1, 0.1) * radius_m if attached else rng.uniform(radius_m + 6 * PIXEL_M, 2.3e-3)
        )
        bubbles.append(
            TrueBubble(
                start_s=number * 1.9e-4,
                along_m=rng.uniform(radius_m, 320 * PIXEL_M - radius_m),
                below_m=below_m,
                radius_max_m=radius_m,
                life_s=rng.uniform(2.0, 8.0) / SCALE.frame_hz,
            )
        )
    return FilmTruth(
        scale=SCALE,
        frames=350,
        width_px=320,
        height_px=192,
        bubbles=tuple(bubbles),
        noise_grey=noise_grey,
        bubble_grey=175.0 - sigmas * noise_grey,
    )


def _score(truth: FilmTruth) -> Score:
    """Compare what is read off a drawn film with what it shows clearly.

    Clear is a disc of 4 to 30 px that overlaps no other, of which at least 4 px show below the face's
    line, and which does not just open or vanish during the exposure. A disc read within a bubble's outline
    is no false one even if that bubble is not clear.
    """
    background = _background(truth)
    frames = draw_film(truth, np.random.default_rng(21))
    discs = discs_of(frames, background, find_patches(frames, background)[0], truth.scale)
    errors, clear, true = [], 0, 0
    for number in range(truth.frames):
        shown = discs_in_frame(truth, number)
        read = discs[discs["frame"] == number]
        true += sum(any(_apart(d, s) < max(2.0, s.radius_px) for s in shown) for d in read)
        for disc in shown:
            if not _is_clear(truth, number, disc, shown):
                continue
            clear += 1
            near = [d for d in read if _apart(d, disc) < 3.0 and abs(d["radius"] - disc.radius_px) < 3.0]
            for d in near[:1]:
                errors.append(
                    (d["column"] - disc.column_px, d["row"] - disc.row_px, d["radius"] - disc.radius_px)
                )
    assert clear > 150
    return Score(recall=len(errors) / clear, precision=true / discs.size, errors_px=np.array(errors))


def _apart(read: np.void, disc: TrueDisc) -> float:
    return math.hypot(read["column"] - disc.column_px, read["row"] - disc.row_px)


def _is_clear(truth: FilmTruth, number: int, disc: TrueDisc, shown: tuple[TrueDisc, ...]) -> bool:
    alone = all(
        math.hypot(other.column_px - disc.column_px, other.row_px - disc.row_px)
        > other.radius_px + disc.radius_px + 4.0
        for other in shown
        if other.bubble != disc.bubble
    )
    face_px = truth.scale.face_row_px + truth.scale.face_slope * disc.column_px
    shows_px = disc.row_px + disc.radius_px - face_px - FACE_GUARD_PX
    bubble, opened_s = truth.bubbles[disc.bubble], number / truth.scale.frame_hz
    steady = all(
        abs(_radius_px(bubble, opened_s + share * truth.scale.exposure_s) - disc.radius_px) < 0.6
        for share in (0.0, 1.0)
    )
    return 4.0 <= disc.radius_px <= 30.0 and alone and shows_px >= 4.0 and steady


def _radius_px(bubble: TrueBubble, time_s: float) -> float:
    assert bubble.life_s is not None
    phase = 2.0 * (time_s - bubble.start_s) / bubble.life_s - 1.0
    return bubble.radius_max_m / PIXEL_M * max(0.0, 1.0 - phase**2) ** 0.4
