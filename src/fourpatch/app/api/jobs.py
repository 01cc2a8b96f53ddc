"""Long work: what is running, how far it is, what came of it, and how to stop it."""

from typing import Any

from fastapi import APIRouter, HTTPException, Response
from fastapi.responses import HTMLResponse
from pydantic import BaseModel, Field

from fourpatch import __version__
from fourpatch.app.api.faults import FAULTS, FAULTS_OF_A_PAGE
from fourpatch.app.asking import Answered
from fourpatch.app.jobs import Job, State
from fourpatch.app.shop import Shop


class JobState(BaseModel):
    """A piece of long work."""

    id: str
    kind: str = Field(description="What sort of work.")
    about: str = Field(description="What it is asked of, for people.")
    state: State = Field(description="A cancelled job keeps what was done, if that is of use.")
    share: float = Field(description="How much is done, 0 to 1.")
    text: str = Field(description="What is being done.")
    begun: float = Field(description="Seconds since 1970-01-01 UTC.")
    ended: float | None = Field(description="Seconds since 1970-01-01 UTC; null before.")
    error: str = Field(description="What went wrong and what to do; empty if nothing did.")


class JobResult(JobState):
    """A piece of long work with what came of it."""

    result: Any = Field(description="As the request that began it describes; null before.")


def job_state(job: Job) -> JobState:
    """Return how a job stands."""
    return JobState.model_validate(job, from_attributes=True)


def jobs_routes(shop: Shop) -> APIRouter:
    """Return the routes of long work."""
    jobs = shop.jobs
    routes = APIRouter(prefix="/api/jobs", tags=["jobs"], responses=FAULTS)

    def found(job_id: str) -> Job:
        job = jobs.get(job_id)
        if job is None:
            raise HTTPException(404, f'There is no job "{job_id}"; it may be forgotten already.')
        return job

    @routes.get("", summary="All jobs, oldest first, without their results")
    def all_jobs() -> list[JobState]:
        return [job_state(job) for job in jobs.all()]

    @routes.get(
        "/{job_id}",
        summary="One job with its result",
        response_model=JobResult,
    )
    def one_job(job_id: str) -> Response:
        told = JobResult.model_validate(found(job_id), from_attributes=True)
        if isinstance(told.result, Answered):
            told.result = {"command": told.kind, "fourpatch": __version__, **told.result.content()}
        # Written here, since a result may hold what is not finite, which becomes null.
        return Response(told.model_dump_json(fallback=lambda _: None), media_type="application/json")

    @routes.get(
        "/{job_id}/page",
        summary="What one job has answered, as a page to print",
        response_class=HTMLResponse,
        responses=FAULTS_OF_A_PAGE,
    )
    def page_of(job_id: str) -> HTMLResponse:
        result = found(job_id).result
        if not isinstance(result, Answered):
            raise HTTPException(404, f'Job "{job_id}" has no answer that is a page, or not yet.')
        return HTMLResponse(result.page)

    @routes.delete(
        "/{job_id}",
        summary="Stop a job; what is done by then is kept if it is of use",
    )
    def stop_job(job_id: str) -> JobState:
        job = found(job_id)
        if not job.over:
            job.cancel()
        return job_state(job)

    return routes
