"""What the words mean."""

from fastapi import APIRouter

from fourpatch.app.answers.definitions import Definition, definition, definitions
from fourpatch.app.api.faults import FAULTS
from fourpatch.app.shop import Shop


def words_routes(shop: Shop) -> APIRouter:
    """Return the routes; every shop has the same words."""
    routes = APIRouter(prefix="/api/words", tags=["words"], responses=FAULTS)

    @routes.get("", summary="Every word of the trade, parameter and number, with its meaning")
    def listed() -> list[Definition]:
        return list(definitions().values())

    @routes.get("/{key}", summary="One word")
    def one(key: str) -> Definition:
        return definition(key)

    return routes
