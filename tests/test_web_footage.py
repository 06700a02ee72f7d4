"""The pages of films: what a person sees is what was read, frame by frame."""

import io
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from starlette.testclient import TestClient

from browser import picture, serving
from demo_bench import demo_bench
from farface.app.film_frames import make_frames
from farface.app.film_scale import FilmTyped
from farface.app.footage import take_film
from farface.app.settings import Typed
from farface.app.workbench import open_workbench
from farface.files.frame_store import FrameStore
from farface.kernel import Missing
from farface.web.guard import Lock
from farface.web.serve import create_app
from web_film import SCALE, TRUTH, drawn_film

# JPEG at its quality, root mean square over a frame of noise and edges, in grey levels.
JPEG_LEVELS = 3.0
# A mark may lie this far from what was drawn, in pixels: the reading's own error is a tenth of it.
MARK_PX = 1.0
READ_MS = 120_000


@pytest.fixture(scope="module")
def read_bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make a bench with one film, ready to be looked at and read."""
    bench = demo_bench(tmp_path_factory.mktemp("footage") / "bench")
    drawn_film(bench.films / "steady.mp4")
    make_frames(bench.folder, "steady.mp4")
    with open_workbench(bench.folder) as work:
        setting = Typed(energy="300 uJ", rate="40 kHz")
        take_film(work, bench.films / "steady.mp4", FilmTyped(), setting, plate="P1")
    return bench.folder


@pytest.fixture(scope="module")
def client(read_bench: Path) -> TestClient:
    return TestClient(create_app(read_bench, lock=Lock.at(8123)), base_url="http://127.0.0.1:8123")


@pytest.mark.drawn_truth
def test_every_frame_is_there_at_once_and_is_the_right_one(tmp_path: Path) -> None:
    frames = drawn_film(tmp_path / "film.mp4")
    store = FrameStore(tmp_path / "store")
    assert (len(store), store.notes()) == (0, None)
    assert list(store.write(iter(frames))) == list(range(1, len(frames) + 1))
    for number in (0, 1, 57, len(frames) - 1):
        shown = np.asarray(Image.open(io.BytesIO(store.jpeg(number))), dtype=float)
        error = np.sqrt(np.mean((shown - frames[number]) ** 2))
        assert error < JPEG_LEVELS
        assert error < 0.75 * np.sqrt(np.mean((shown - frames[(number + 4) % len(frames)]) ** 2))
    for number in (-1, len(frames)):
        with pytest.raises(Missing):
            store.jpeg(number)


@pytest.mark.drawn_truth
def test_marks_lie_where_bubbles_and_flashes_were_drawn(client: TestClient) -> None:
    answer = client.get("/footage/steady.mp4/marks")
    rows, columns = map(int, answer.headers["x-shape"].split(","))
    marks = np.frombuffer(answer.content, "<f4").reshape(rows, columns)
    assert (np.diff(marks[:, 0]) >= 0).all()
    discs = marks[marks[:, 1] == 0]
    assert set(discs[:, 2]) == set(range(len(TRUTH.bubbles)))
    for number, truth in enumerate(TRUTH.bubbles):
        own = discs[discs[:, 2] == number]
        middle_s = truth.start_s + 0.5 * truth.life_s
        assert abs(own[:, 0].mean() / SCALE.frame_hz - middle_s) < 1.0 / SCALE.frame_hz
        assert np.abs(own[:, 3] - truth.along_m / SCALE.pixel_m).max() < MARK_PX
        assert np.abs(own[:, 4] - SCALE.face_row_px - truth.below_m / SCALE.pixel_m).max() < MARK_PX
        assert abs(own[:, 5].max() - truth.radius_max_m / SCALE.pixel_m) < MARK_PX
    lit = marks[marks[:, 1] == 1]
    assert lit[:, 0].tolist() == [20 + 30 * k for k in range(len(TRUTH.flashes))]


def test_the_twin_tells_what_the_page_shows(client: TestClient) -> None:
    told = client.get("/footage/steady.mp4.json", params={"bubble": 3}).json()
    assert told["data"]["read"]["bubbles"] == len(TRUTH.bubbles)
    bubble = told["data"]["read"]["bubble"]
    assert bubble["number"] == 3
    assert bubble["radius_max_m"] == pytest.approx(1.4e-4, rel=0.03)
    assert bubble["opened_s"] == pytest.approx(TRUTH.bubbles[3].start_s, abs=0.5 / SCALE.frame_hz)
    page = client.get("/footage/steady.mp4", params={"bubble": 3}).text
    assert all(shown in page for _, shown in bubble["rows"])
    assert "invented data" in page
    assert client.get("/footage/steady.mp4/sheet").content.startswith(b"\x89PNG")
    for sha256, name in told["data"]["read"]["files"].items():
        kept = client.get(f"/kept/{sha256}")
        assert kept.headers["content-disposition"].startswith("attachment")
        assert name in kept.headers["content-disposition"]


@pytest.mark.parametrize(
    "film", ["nothing.mp4", "..%2frig.toml", "%2e%2e%2frig.toml", ".frames", "..%5crig.toml"]
)
def test_only_films_of_the_bench_are_found(client: TestClient, film: str) -> None:
    for path in (
        f"/footage/{film}",
        f"/footage/{film}/frame/0",
        f"/footage/{film}/marks",
        f"/footage/{film}/sheet",
    ):
        assert client.get(path).status_code == 404
    assert client.get("/kept/..%2f..%2frig.toml").status_code in (404, 422)
    assert client.get(f"/kept/{'0' * 64}").status_code == 404


def test_a_cut_off_film_says_so_and_keeps_what_could_be_read(bench_folder: Path) -> None:
    drawn_film(bench_folder / "whole.mp4")
    sent = (bench_folder / "whole.mp4").read_bytes()
    client = TestClient(create_app(bench_folder, lock=Lock.at(8123)), base_url="http://127.0.0.1:8123")
    client.get("/look.css")
    cut = sent[: len(sent) * 2 // 3]
    assert client.post("/uploads/films", params={"name": "cut.mp4"}, content=cut).status_code == 201
    told = make_frames(bench_folder, "cut.mp4")
    assert 10 < told.data["frames"] < TRUTH.frames
    assert "cut off" in told.sentences[1]
    page = client.get("/footage/cut.mp4").text
    assert "cut off" in page
    assert client.get(f"/footage/cut.mp4/frame/{told.data['frames'] - 1}").status_code == 200


def test_a_slip_in_the_form_stands_beside_its_field_and_nothing_is_lost(client: TestClient) -> None:
    client.get("/look.css")
    typed = {
        "frame_rate": "fast",
        "pixel": "2 mm = 0 px",
        "face_left": "40.5",
        "energy": "300 uJ",
        "plate": "",
    }
    answer = client.post("/footage/steady.mp4/read", data=typed)
    assert answer.status_code == 422
    for words in ("no number with a unit", "divides by 0", "No plate is named"):
        assert words in answer.text
    assert 'value="fast"' in answer.text
    assert 'value="300 uJ"' in answer.text


@pytest.mark.browser
@pytest.mark.slow
def test_a_film_is_added_set_up_read_and_looked_at(tmp_path: Path, open_page: Callable) -> None:
    bench = demo_bench(tmp_path / "bench")
    drawn_film(tmp_path / "camera.mp4")
    with serving(bench.folder) as address:
        page = open_page(f"{address}/footage")
        page.get_by_label("Film from the camera").set_input_files(tmp_path / "camera.mp4")
        page.get_by_role("button", name="Add this film").click()
        slider = page.get_by_role("slider", name="Frame")
        slider.wait_for(timeout=READ_MS)
        drag_the_face(page)
        page.get_by_label("Row at the left rim").fill("30")
        page.get_by_label("Row at the right rim").fill("30")
        page.get_by_label("Plate").fill("P1")
        page.get_by_role("button", name="Read this film").click()
        page.get_by_role("heading", name="Bubble", exact=False).first.wait_for(timeout=READ_MS)
        told = page.request.get(f"{address}/footage/camera.mp4.json").json()
        assert page.get_by_text(told["sentences"][0]).is_visible()
        bubble = told["data"]["read"]["bubble"]
        assert page.get_by_role("definition").all_inner_texts() == [shown for _, shown in bubble["rows"]]
        step_through(page, slider, bubble)
        picture(page, "film-light")
        dark = open_page(f"{address}/footage/camera.mp4", color_scheme="dark")
        dark.get_by_role("slider", name="Frame").wait_for()
        picture(dark, "film-dark")


def drag_the_face(page) -> None:  # type: ignore[no-untyped-def]
    """Drag the left end of the face's line down, and see the number follow; then back by typing."""
    field = page.get_by_label("Row at the left rim")
    before = float(field.input_value())
    box = page.locator("circle.face_left").bounding_box()
    x, y = box["x"] + 0.75 * box["width"], box["y"] + 0.5 * box["height"]
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y + 60, steps=4)
    page.mouse.up()
    assert float(field.input_value()) > before + 4


def step_through(page, slider, bubble: dict) -> None:  # type: ignore[no-untyped-def]
    """Go to a bubble's first frame and past its last by single keys; the words follow each frame."""
    status = page.get_by_role("status").filter(has_text="Frame")
    slider.fill(str(bubble["frame"]))
    status.filter(has_text=f"Frame {bubble['frame']},").wait_for()
    assert f"bubble {bubble['number']} " in status.inner_text()
    slider.focus()
    for k in range(1, len(bubble["times_s"]) + 2):
        page.keyboard.press("ArrowRight")
        status.filter(has_text=f"Frame {bubble['frame'] + k},").wait_for()
    assert f"bubble {bubble['number']} " not in status.inner_text()
    page.keyboard.press("ArrowLeft")
    page.get_by_role("button", name="One back").click()
    status.filter(has_text=f"Frame {bubble['frame'] + k - 2},").wait_for()
