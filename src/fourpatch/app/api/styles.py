"""The driver styles of the notebook."""

from fastapi import APIRouter

from fourpatch.app.api.documents import document_routes
from fourpatch.app.shop import Shop


def style_routes(shop: Shop) -> APIRouter:
    """Return the routes."""
    return document_routes(shop.notebook.styles, plural="styles")
