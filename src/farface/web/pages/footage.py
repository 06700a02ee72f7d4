"""The pages of films: the list with its upload, and one film to look at, set up and read."""

from collections.abc import Callable
from functools import partial
from typing import Annotated, Any, Final

from fastapi import APIRouter, Query, Response

from farface.app.answer import Answer, plain
from farface.app.film_frames import film_path, frame_jpeg
from farface.app.film_page import look_at_film, look_at_films, marks_of, sheet_of
from farface.app.film_scale import FilmTyped, face_line, pixel_m
from farface.app.jobs import start_job
from farface.app.settings import Typed, setting_of
from farface.kernel import FarfaceError, Missing, parse_quantity
from farface.web.forms import Form, Sent, whole_number
from farface.web.page import UNUSABLE, go_to, render, show_page
from farface.web.visit import Here

router = APIRouter()

# A frame of a film that has not changed stays what it is: the address bears the film's state.
KEPT: Final = {"cache-control": "private, max-age=3600"}
Bubble = Annotated[int | None, Query(description="which bubble to show in detail, counted from 0")]


@show_page(router, "/footage", "footage.html")
def footage(here: Here) -> Answer:
    """List the films."""
    with here.bench() as work:
        return look_at_films(work)


@show_page(router, "/footage/{film}", "film.html")
def film(here: Here, film: str, bubble: Bubble = None) -> Answer:
    """Look at one film and at what was read off it."""
    with here.bench() as work:
        return look_at_film(work, film, bubble=bubble)


@router.get("/footage/{film}/frame/{number}", response_class=Response)
def frame(here: Here, film: str, number: int) -> Response:
    """Give one frame as JPEG."""
    return Response(frame_jpeg(here.place.folder, film, number), media_type="image/jpeg", headers=KEPT)


@router.get("/footage/{film}/marks", response_class=Response)
def marks(here: Here, film: str) -> Response:
    """Give what was read, float32 rows of frame, kind, number, column, row, radius, the shape in a header."""
    with here.bench() as work:
        table = marks_of(work, film)
    shape = {"x-shape": ",".join(map(str, table.shape))}
    return Response(table.astype("<f4").tobytes(), media_type="application/octet-stream", headers=shape)


@router.get("/footage/{film}/sheet", response_class=Response)
def sheet(here: Here, film: str) -> Response:
    """Give the contact sheet as PNG."""
    with here.bench() as work:
        drawn = sheet_of(work, film)
    if drawn is None:
        raise Missing(f"{film} was not read yet, so it has no contact sheet. Read it first.")
    return Response(drawn, media_type="image/png")


@router.post("/footage/{film}/frames", status_code=303)
def make_ready(here: Here, film: str) -> Response:
    """Start making a film's frames ready to be looked at."""
    with here.bench() as work:
        name = film_path(work.places, film).name
    start_job(here.place.folder, "frames", f"Making {name} ready", {"film": name}, journal=here.place.journal)
    return go_to(here.address(f"/footage/{name}"))


@router.post("/footage/{film}/read", status_code=303)
def read(here: Here, film: str, sent: Sent) -> Response:
    """Start reading a film, with what it cannot say of itself as typed."""
    with here.bench() as work:
        name = film_path(work.places, film).name
        request = _request(sent, name, lambda typed: setting_of(work.rig, typed))
        if not sent.good:
            answer = look_at_film(work, name)
            answer.data["typed"].update({key: sent.text(key) for key in answer.data["typed"]})
            return render(here, "film.html", answer, status=UNUSABLE, errors=sent.errors)
    start_job(here.place.folder, "footage", f"Reading {name}", request, journal=here.place.journal)
    return go_to(here.address(f"/footage/{name}"))


def _request(sent: Form, name: str, check: Callable[[Typed], object]) -> dict[str, Any]:
    """Read the form into what the job takes; every refusal stands beside its field."""
    camera, typed = _camera(sent), _typed(sent)
    if sent.good:
        try:
            check(typed)
        except FarfaceError as error:
            sent.errors["energy"] = str(error)
    if not sent.text("plate"):
        sent.errors["plate"] = "No plate is named, and a film teaches about its plate. Name the one it shows."
    asked = {"camera": plain(camera), "typed": plain(typed), "plate": sent.text("plate")}
    return {"film": name, **asked}


def _camera(sent: Form) -> FilmTyped:
    """Read what the film does not know of itself; what is left empty is the rig's camera."""
    left, right = sent.text("face_left"), sent.text("face_right")
    face = f"{left} to {right or left}" if left else None
    readers: dict[str, Callable[[str], object]] = {
        "frame_rate": partial(parse_quantity, dimension="Hz", what="the true frame rate"),
        "exposure": partial(parse_quantity, dimension="s", what="the exposure"),
        "pixel": pixel_m,
        "face_left": lambda _: face_line(face or "", width_px=2),
    }
    for field, reader in readers.items():
        if sent.text(field):
            sent.read(field, reader)
    return FilmTyped(
        frame_rate=sent.text("frame_rate") or None,
        exposure=sent.text("exposure") or None,
        pixel=sent.text("pixel") or None,
        face=face,
        glass_below=bool(sent.text("glass_below")),
    )


def _typed(sent: Form) -> Typed:
    """Read the setting that the film shows; what is left empty is the bench's usual one."""
    return Typed(
        energy=sent.text("energy") or None,
        rate=sent.text("rate") or None,
        pulses=sent.read("pulses", partial(whole_number, what="pulses per point")),
        pitch=sent.text("pitch") or None,
        passes=sent.read("passes", partial(whole_number, what="passes")),
    )
