"""Written depth maps: read back by general-purpose libraries, and a solid of the right volume."""

import io
import json

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from farface.files import depth_solid
from farface.files.depth_map import GREY_STEP_M, grey_png, map_notes, npy_bytes, picture_png
from farface.files.depth_solid import solid_mesh, solid_stl
from farface.kernel import OutOfRange
from farface.part.depth_map import DepthMap

THICKNESS = 1.1e-3
CELL = 10e-6

# Half a grey level.
LEVEL = 0.5 * GREY_STEP_M
# STL keeps float32, 6e-8 of a coordinate; depths of a tenth of the plate keep about 1e-6 of themselves.
FLOAT32 = 1e-5


def bowl(rows: int = 30, columns: int = 40, depth: float = 100e-6) -> DepthMap:
    """Dig a paraboloid, deeper to one side and below, with an untouched rim of a cell."""
    y, x = np.mgrid[-1 : 1 : rows * 1j, -1 : 1 : columns * 1j]
    dug = depth * np.maximum(0.9 - x**2 - y**2, 0.0) * (1.0 + 0.3 * x - 0.2 * y)
    return DepthMap(depth_m=dug.astype(np.float32), origin_m=(-2e-4, 1e-4), cell_m=CELL)


def of(depth: NDArray[np.float64]) -> DepthMap:
    return DepthMap(depth_m=depth.astype(np.float32), origin_m=(0.0, 0.0), cell_m=CELL)


def mesh(depths: DepthMap):  # type: ignore[no-untyped-def]
    import trimesh

    return trimesh.Trimesh(*solid_mesh(depths, thickness_m=THICKNESS), process=False)


@pytest.mark.exact
def test_the_array_reads_back() -> None:
    assert np.array_equal(np.load(io.BytesIO(npy_bytes(bowl()))), bowl().depth_m)


@pytest.mark.exact
def test_the_grey_picture_reads_back_within_half_a_level_and_upright() -> None:
    from matplotlib.image import imread
    from PIL import Image

    levels = np.asarray(Image.open(io.BytesIO(grey_png(bowl(), invented=True))))
    assert np.abs(levels[::-1] * GREY_STEP_M - bowl().depth_m).max() <= LEVEL * (1 + 1e-3)
    # A second reader, which scales to 0..1.
    scaled = imread(io.BytesIO(grey_png(bowl(), invented=True)))
    assert np.allclose(scaled * 65535, levels)


def test_the_grey_picture_says_that_its_data_are_invented() -> None:
    from PIL import Image

    assert (
        Image.open(io.BytesIO(grey_png(bowl(), invented=True))).info["Comment"]
        == "invented data, 20 nm a level"
    )
    assert "invented" not in Image.open(io.BytesIO(grey_png(bowl(), invented=False))).info["Comment"]


def test_depths_beyond_the_brightest_level_stay_there() -> None:
    from PIL import Image

    levels = np.asarray(Image.open(io.BytesIO(grey_png(of(np.full((3, 3), 2e-3)), invented=True))))
    assert np.all(levels == 65535)


def test_the_notes_place_the_map() -> None:
    notes = json.loads(map_notes(bowl(), invented=True))
    assert (notes["cell_um"], notes["x_of_column_0_mm"], notes["y_of_row_0_mm"]) == (10.0, -0.2, 0.1)
    assert notes["note"] == "invented data"
    assert json.loads(map_notes(bowl(), invented=False))["note"] == ""


def test_the_picture_has_many_colours_and_says_that_its_data_are_invented() -> None:
    from matplotlib.image import imread

    marked, plain = (
        imread(io.BytesIO(picture_png(bowl(), title="bowl", invented=invented))) for invented in (True, False)
    )
    assert marked.shape == plain.shape
    assert min(marked.shape[:2]) > 300
    assert len(np.unique(marked.reshape(-1, marked.shape[-1]), axis=0)) > 100
    differing = np.argwhere(np.any(marked != plain, axis=-1))
    # The mark stands above the map.
    assert len(differing) > 200
    assert differing[:, 0].max() < 0.1 * marked.shape[0]
    assert marked[..., :3].sum() < plain[..., :3].sum()


@pytest.mark.exact
def test_the_solid_is_closed_and_lacks_exactly_what_was_etched() -> None:
    depths = bowl()
    solid = mesh(depths)
    rows, columns = depths.depth_m.shape
    block = (rows - 1) * (columns - 1) * CELL**2 * THICKNESS
    assert solid.is_watertight
    assert solid.is_winding_consistent
    # Every vertex off the untouched rim stands for one cell of area.
    assert block - solid.volume == pytest.approx(depths.depth_m.sum(dtype=np.float64) * CELL**2, rel=1e-9)


@pytest.mark.exact
def test_averaging_in_blocks_keeps_the_etched_volume(monkeypatch: pytest.MonkeyPatch) -> None:
    depths = bowl(rows=61, columns=83)
    fine = mesh(depths)
    monkeypatch.setattr(depth_solid, "MOST_TRIANGLES", 2000)
    coarse = mesh(depths)
    assert len(coarse.faces) <= 2000 < len(fine.faces)
    assert coarse.is_watertight
    removed = [np.prod(np.ptp(solid.vertices, axis=0)) - solid.volume for solid in (coarse, fine)]
    assert removed[0] == pytest.approx(removed[1], rel=1e-6)
    # Averaging moves what was etched by a small part of a cell.
    middles = [np.average(solid.vertices[:, :2], axis=0, weights=solid.vertices[:, 2] % THICKNESS)
               for solid in (coarse, fine)]  # fmt: skip
    assert middles[0] == pytest.approx(middles[1], abs=0.2 * CELL)


@pytest.mark.exact
@given(st.integers(0, 10_000), st.floats(0.0, 0.6))
def test_the_solid_stays_closed_however_it_is_pierced(seed: int, share: float) -> None:
    rng = np.random.default_rng(seed)
    depth = np.where(
        rng.random((14, 17)) < share, 2.0 * THICKNESS, rng.uniform(0.0, 0.9 * THICKNESS, (14, 17))
    )
    depth[:3, :3] = 0.0
    solid = mesh(of(depth))
    assert solid.is_watertight
    assert solid.is_winding_consistent
    assert 0.0 < solid.volume < 13 * 16 * CELL**2 * THICKNESS


@pytest.mark.exact
def test_a_hole_is_cut_out_with_upright_walls() -> None:
    depth = np.zeros((12, 12))
    depth[4:7, 5:9] = 2.0 * THICKNESS
    # The squares that touch a pierced corner are gone: one more than the corners each way.
    assert mesh(of(depth)).volume == pytest.approx((11 * 11 - 4 * 5) * CELL**2 * THICKNESS, rel=1e-6)


def test_a_plate_that_is_etched_away_is_no_solid() -> None:
    with pytest.raises(OutOfRange, match="nothing is left"):
        solid_mesh(of(np.full((5, 5), 2.0 * THICKNESS)), thickness_m=THICKNESS)


@pytest.mark.exact
def test_the_stl_reads_back_closed_in_millimetres() -> None:
    import trimesh

    text = solid_stl(bowl(), thickness_m=THICKNESS, invented=True)
    read = trimesh.load(io.BytesIO(text), file_type="stl")
    assert text.startswith(b"farface, lengths in mm, invented data")
    assert read.is_watertight
    assert read.volume == pytest.approx(1e9 * mesh(bowl()).volume, rel=FLOAT32)
    assert read.bounds[1][2] - read.bounds[0][2] == pytest.approx(1.1)
    assert read.bounds[0][:2] == pytest.approx([-0.2, 0.1])
