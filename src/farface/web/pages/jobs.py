"""The page of long work: how far it is, and the button that stops it."""

from fastapi import APIRouter, Response

from farface.app.answer import Answer
from farface.app.jobs import look_at_job, look_at_jobs, stop_job
from farface.web.page import go_to, show_page
from farface.web.visit import Here

router = APIRouter()


@show_page(router, "/jobs", "jobs.html")
def jobs(here: Here) -> Answer:
    """List the last jobs."""
    return look_at_jobs(here.place.folder)


@show_page(router, "/jobs/{job_id}", "job.html")
def job(here: Here, job_id: str) -> Answer:
    """Tell how far one job is."""
    return look_at_job(here.place.folder, job_id)


@router.post("/jobs/{job_id}/stop", status_code=303)
def stop(here: Here, job_id: str) -> Response:
    """Ask a job to stop."""
    stop_job(here.place.folder, job_id)
    return go_to(here.address(f"/jobs/{job_id}"))
