"""Laps before and after a change."""

from fastapi import APIRouter

from fourpatch.app.answers.did_it_help import HelpAnswer, HelpAsked, helped
from fourpatch.app.api.faults import FAULTS
from fourpatch.app.shop import Shop


def did_it_help_routes(shop: Shop) -> APIRouter:
    """Return the routes."""
    routes = APIRouter(prefix="/api", tags=["did it help"], responses=FAULTS)

    @routes.post("/did-it-help", summary="What laps before and after a change tell")
    def did_it_help(asked: HelpAsked) -> HelpAnswer:
        return helped(asked).answer()

    return routes
