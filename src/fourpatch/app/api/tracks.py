"""The tracks of the notebook, and tracks made from a sketch or a file."""

import base64

from fastapi import APIRouter
from pydantic import BaseModel, Field

from fourpatch.app.answers.track_making import Made, Making, from_file, sketched
from fourpatch.app.api.documents import BY, FileName, document_routes
from fourpatch.app.shop import Shop
from fourpatch.errors import RecordingError
from fourpatch.notebook.entries import Entry


class Sketch(Making):
    """A track told in words."""

    sketch: str = Field(
        max_length=20_000,
        description='A straight or a corner a line: "straight 300 m", "left, second gear, long, opening".',
    )


class LineFile(Making):
    """A track's line in a file."""

    file: FileName = Field(description="Its name, by whose ending it is told what it is.")
    content: str = Field(max_length=6_000_000, description="The file, in base64.")


class KeptTrack(BaseModel):
    """A track that was made and kept."""

    entry: Entry
    told: list[str] = Field(description="What was estimated, smoothed and closed, a sentence each.")


def track_routes(shop: Shop) -> APIRouter:
    """Return the routes."""
    routes = document_routes(shop.notebook.tracks, plural="tracks")

    def kept(made: Made) -> KeptTrack:
        return KeptTrack(entry=shop.notebook.tracks.add(made.track, by=BY), told=list(made.told))

    @routes.post("/tracks/from-sketch", status_code=201, summary="Keep a track told in words")
    def from_sketch(wanted: Sketch) -> KeptTrack:
        return kept(sketched(wanted.sketch, wanted))

    @routes.post("/tracks/from-line", status_code=201, summary="Keep a track whose line a file holds")
    def from_line(wanted: LineFile) -> KeptTrack:
        try:
            content = base64.b64decode(wanted.content, validate=True)
        except ValueError:  # letters beyond ASCII too
            raise RecordingError("content is no base64. Give the bytes of the file in base64.") from None
        return kept(from_file(wanted.file, content, wanted))

    return routes
