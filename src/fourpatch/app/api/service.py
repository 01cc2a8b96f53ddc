"""The HTTP API: what the pages do, for programs."""

from collections.abc import Callable

from fastapi import APIRouter, FastAPI

from fourpatch import __version__
from fourpatch.app.api.bench import bench_routes
from fourpatch.app.api.bumps import bumps_routes
from fourpatch.app.api.cars import car_routes
from fourpatch.app.api.complaints import complaint_routes
from fourpatch.app.api.corner import corner_routes
from fourpatch.app.api.cure import cure_routes
from fourpatch.app.api.did_it_help import did_it_help_routes
from fourpatch.app.api.evidence import evidence_routes
from fourpatch.app.api.faults import answer_faults
from fourpatch.app.api.jobs import jobs_routes
from fourpatch.app.api.lap import lap_routes
from fourpatch.app.api.logbook import logbook_routes, meeting_routes
from fourpatch.app.api.notebook import notebook_routes
from fourpatch.app.api.questions import question_routes
from fourpatch.app.api.setups import setup_routes
from fourpatch.app.api.share import share_routes
from fourpatch.app.api.sheets import sheet_routes
from fourpatch.app.api.styles import style_routes
from fourpatch.app.api.tracks import track_routes
from fourpatch.app.api.words import words_routes
from fourpatch.app.shop import Shop

ROUTES: tuple[Callable[[Shop], APIRouter], ...] = (
    bench_routes,
    setup_routes,
    corner_routes,
    bumps_routes,
    lap_routes,
    cure_routes,
    did_it_help_routes,
    question_routes,
    words_routes,
    jobs_routes,
    car_routes,
    evidence_routes,
    track_routes,
    style_routes,
    complaint_routes,
    meeting_routes,
    logbook_routes,
    sheet_routes,
    share_routes,
    notebook_routes,
)
"""Of the API, one for each resource."""


def make_api(shop: Shop) -> FastAPI:
    """Return the API of one shop; its description is at /api/openapi.json."""
    api = FastAPI(
        title="Fourpatch",
        version=__version__,
        description="What the pages do. Numbers are SI unless a name says otherwise; axes are ISO 8855.",
        openapi_url="/api/openapi.json",
        docs_url=None,
        redoc_url=None,
    )
    answer_faults(api)
    for routes in ROUTES:
        api.include_router(routes(shop))
    return api
