"""Uploads: streamed to the disk, whole or gone, never outside the bench, never too large or too slow."""

import asyncio
from collections.abc import AsyncIterator, Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from farface.app import uploads
from farface.files.arrival import Arrival, own_name
from farface.kernel import OutOfRange
from farface.web.guard import Lock
from farface.web.pages import uploads as page
from farface.web.serve import create_app
from web_film import drawn_film

SVG = (
    b'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9">'
    b'<rect id="a" width="4" height="4"/></svg>'
)
LOCK = Lock.at(8123)


@pytest.fixture
def client(bench_folder: Path) -> TestClient:
    client = TestClient(create_app(bench_folder, lock=LOCK), base_url="http://127.0.0.1:8123")
    client.get("/look.css")
    return client


def left_over(folder: Path) -> list[str]:
    return [path.name for path in folder.rglob("*.part")]


def test_a_film_arrives_whole_under_a_name_of_our_own(client: TestClient, bench_folder: Path) -> None:
    drawn_film(bench_folder / "here.mp4")
    sent = (bench_folder / "here.mp4").read_bytes()
    for expected in ("my-film.mp4", "my-film-2.mp4"):  # nothing is written over
        answer = client.post("/uploads/films", params={"name": "../../../etc/my film.MP4"}, content=sent)
        assert (answer.status_code, answer.json()["name"]) == (201, expected)
        assert (bench_folder / "films" / expected).read_bytes() == sent
    assert left_over(bench_folder) == []


@pytest.mark.parametrize(
    ("given", "ours"),
    [
        ("a/b\\c.mp4", "c.mp4"), ("..\\..\\x.svg", "x.svg"), ("<b>.mp4", "b.mp4"), (".mp4", "unnamed.mp4"),
        ("\x00\n.mp4", "unnamed.mp4"), ("Fülle 3.TIF", "Fülle-3.tif"),
        ("x" * 300 + ".mp4", "x" * 80 + ".mp4"),
    ],
)  # fmt: skip
def test_names_lead_nowhere(given: str, ours: str) -> None:
    assert own_name(given) == ours


@pytest.mark.parametrize(
    ("kind", "name", "content", "says"),
    [
        ("films", "a.mp4", b"no film at all", "a.mp4"),
        ("films", "a.mp4", b"", "empty"),
        ("films", "a.exe", b"MZ", "none of"),
        ("films", "a", b"x", "none of"),
        ("drawings", "a.svg", b"<svg><script>alert(1)</script></svg>", ""),
        ("elsewhere", "a.svg", SVG, "nothing that can be taken in"),
    ],
)
def test_what_cannot_be_read_is_refused_and_not_kept(
    client: TestClient, bench_folder: Path, kind: str, name: str, content: bytes, says: str
) -> None:
    before = sorted(bench_folder.rglob("*.svg"))
    answer = client.post(f"/uploads/{kind}", params={"name": name}, content=content)
    assert answer.status_code == 422
    assert says in answer.json()["error"]
    assert left_over(bench_folder) == []
    assert list((bench_folder / "films").iterdir()) == []
    assert sorted(bench_folder.rglob("*.svg")) == before


def test_a_drawing_arrives(client: TestClient, bench_folder: Path) -> None:
    assert client.post("/uploads/drawings", params={"name": "a.svg"}, content=SVG).status_code == 201
    assert (bench_folder / "drawings" / "a.svg").read_bytes() == SVG


def test_what_says_that_it_is_too_large_is_not_read(
    client: TestClient, bench_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(uploads, "room_bytes", lambda folder, kind: 3_000_000)
    answer = client.post("/uploads/films", params={"name": "a.mp4"}, content=b"x" * 3_000_001)
    assert answer.status_code == 413
    assert "3 MB may come in" in answer.json()["error"]
    assert left_over(bench_folder) == []


def test_what_does_not_say_is_stopped_while_it_comes(
    bench_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(uploads, "room_bytes", lambda folder, kind: 3_000_000)
    asked = []

    async def without_end() -> AsyncIterator[dict]:
        while True:
            asked.append(left_over(bench_folder))
            yield {"type": "http.request", "body": b"x" * 500_000, "more_body": True}

    status, words = posted(bench_folder, without_end)
    assert (status, b"3 MB" in words) == (413, True)
    assert 6 < len(asked) < 12
    assert left_over(bench_folder) == []


def posted(folder: Path, body: Callable[[], AsyncIterator[dict]]) -> tuple[int, bytes]:
    """Post a film whose body comes as ``body`` says, through the whole of the application."""
    sent: list[dict] = []
    messages = body()

    async def receive() -> dict:
        return await anext(messages)

    async def send(message: dict) -> None:
        sent.append(message)

    scope = {
        "type": "http", "method": "POST", "path": "/uploads/films", "raw_path": b"/uploads/films",
        "query_string": b"name=slow.mp4", "http_version": "1.1", "scheme": "http", "root_path": "",
        "client": ("127.0.0.1", 1), "server": ("127.0.0.1", 8123),
        "headers": [(b"host", b"127.0.0.1:8123"), (b"cookie", f"{LOCK.cookie}={LOCK.token}".encode())],
    }  # fmt: skip
    # In a thread of its own: where a browser test ran before, this one has a loop already.
    with ThreadPoolExecutor(1) as one:
        one.submit(asyncio.run, create_app(folder, lock=LOCK)(scope, receive, send)).result()
    return sent[0]["status"], b"".join(message.get("body", b"") for message in sent)


@pytest.mark.parametrize(("gap_s", "count"), [(30.0, 1), (0.02, 1000)])
def test_what_comes_too_slowly_is_given_up(
    bench_folder: Path, monkeypatch: pytest.MonkeyPatch, gap_s: float, count: int
) -> None:
    monkeypatch.setattr(page.PATIENCE, "silent_s", 0.3)
    monkeypatch.setattr(page.PATIENCE, "grace_s", 0.3)

    async def drip() -> AsyncIterator[dict]:
        for _ in range(count):
            yield {"type": "http.request", "body": b"x", "more_body": True}
            await asyncio.sleep(gap_s)
        yield {"type": "http.request", "body": b"x", "more_body": False}

    status, words = posted(bench_folder, drip)
    assert status == 408
    assert b"too slowly" in words
    assert left_over(bench_folder) == []


def test_what_is_cut_off_leaves_nothing_behind(bench_folder: Path) -> None:
    async def cut() -> AsyncIterator[dict]:
        yield {"type": "http.request", "body": b"x" * 2_000_000, "more_body": True}
        assert left_over(bench_folder)  # it lies beside its place while it comes
        yield {"type": "http.disconnect"}

    assert posted(bench_folder, cut)[0] == 422
    assert left_over(bench_folder) == []


def test_parts_that_a_killed_program_left_are_cleared_away_a_day_later(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import time

    old = Arrival(tmp_path, "a.mp4", most_bytes=10)
    old.take(b"123")
    Arrival(tmp_path, "b.mp4", most_bytes=10).drop()
    assert old.path.exists()
    now_s = time.time()
    monkeypatch.setattr(time, "time", lambda: now_s + 25 * 3600.0)
    Arrival(tmp_path, "c.mp4", most_bytes=10).drop()
    assert not old.path.exists()
    with pytest.raises(OutOfRange, match="larger"):
        Arrival(tmp_path, "d.mp4", most_bytes=2).take(b"123")
