"""What cars, tracks and styles have in common: they are documents with revisions, and files."""

from collections.abc import Callable
from typing import Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Path, Query, Response
from pydantic import BaseModel, Field

from fourpatch.app.answers.files import TakenFile, taken_file, written_in
from fourpatch.app.api.faults import FAULTS
from fourpatch.notebook.entries import Document, Entry
from fourpatch.notebook.kinds import Written
from fourpatch.notebook.shelf import Shelf

MOST = 2**31 - 1
BY = "API"
"""Who changes what is changed by the API."""

DocumentId = Annotated[int, Path(ge=1, le=MOST, description="Its number in the notebook.")]
RevisionNumber = Annotated[
    int,
    Field(ge=1, le=MOST, description="The one it was made from; if it is not the newest, a conflict."),
]
FileText = Annotated[str, Field(max_length=4_000_000)]
FileName = Annotated[str, Field(min_length=1, max_length=200)]


class Files(BaseModel):
    """A file of the command line, with the CSV files it names."""

    files: dict[FileName, FileText] = Field(
        min_length=1, max_length=20, description="The text of each by its name: one ends in .toml."
    )
    name: str = Field(
        default="",
        max_length=80,
        description="What to call it, if not as its file says; a style's says none.",
    )


class NewRevision(Files):
    """Files that are to take the place of what is kept."""

    revision: RevisionNumber


class NewName(BaseModel):
    """What to call it from now on."""

    name: str = Field(min_length=1, max_length=80)
    revision: RevisionNumber


def document_routes(
    shelf: Shelf[Any], *, plural: str, keep: Callable[[Written, str], Entry] | None = None
) -> APIRouter:
    """Return the routes of a shelf.

    Parameters
    ----------
    plural : as it stands in the address.
    keep : keeps a new one, by its files and its name, if that takes more than putting it on the shelf.
    """
    one = f"/{plural}/{{id}}"
    routes = APIRouter(prefix="/api", tags=[plural], responses=FAULTS)

    def put(written: Written, name: str) -> Entry:
        return shelf.add(written, name=name, by=BY)

    @routes.get(f"/{plural}", summary=f"The {plural}, by name")
    def listed(
        deleted: Annotated[bool, Query(description="Those that can be restored, instead.")] = False,
    ) -> list[Entry]:
        return shelf.deleted() if deleted else shelf.listed()

    @routes.post(f"/{plural}", status_code=201, summary="Keep a new one from its files")
    def add(new: Files) -> Entry:
        return (keep or put)(written_in(new.files), new.name)

    @routes.get(one, summary="One with its text, now or as it was at a revision")
    def get(id: DocumentId, revision: Annotated[int | None, Query(ge=1, le=MOST)] = None) -> Document:
        return shelf.get(id, revision)

    @routes.put(one, summary="Change one as a whole")
    def change(id: DocumentId, new: NewRevision) -> Entry:
        return shelf.change(id, written_in(new.files), revision=new.revision, name=new.name, by=BY)

    @routes.delete(one, summary="Put one away; it can be restored")
    def delete(id: DocumentId) -> Entry:
        return shelf.delete(id, by=BY)

    @routes.post(f"{one}/restore", summary="Bring a deleted one back")
    def restore(id: DocumentId) -> Entry:
        return shelf.restore(id)

    @routes.post(f"{one}/name", summary="Call one by another name, in its file too")
    def rename(id: DocumentId, wanted: NewName) -> Entry:
        return shelf.rename(id, wanted.name, revision=wanted.revision, by=BY)

    @routes.post(f"{one}/copy", status_code=201, summary="Keep a copy as a new one")
    def copy(id: DocumentId, wanted: CopyName) -> Entry:
        return (keep or put)(shelf.get(id).written, wanted.name)

    @routes.get(f"{one}/history", summary="All revisions of one, the latest first")
    def history(id: DocumentId) -> list[Entry]:
        return shelf.history(id)

    @routes.post(f"{one}/revisions/{{revision}}/again", summary="Make one as it was at a revision")
    def again(id: DocumentId, revision: DocumentId, head: Head) -> Entry:
        then = shelf.get(id, revision)
        return shelf.change(id, then.written, revision=head.revision, name=then.entry.name, by=BY)

    @routes.get(
        f"{one}/file",
        summary="The file of the command line; with CSV files that it names, a zip of all",
        response_class=Response,
    )
    def file(id: DocumentId, revision: Annotated[int | None, Query(ge=1, le=MOST)] = None) -> Response:
        return file_answer(taken_file(shelf.get(id, revision)))

    return routes


class CopyName(BaseModel):
    """What to call the copy."""

    name: str = Field(min_length=1, max_length=80)


class Head(BaseModel):
    """What is newest, as far as the asker knows."""

    revision: RevisionNumber


def file_answer(file: TakenFile) -> Response:
    """Return a file to be saved."""
    return Response(
        file.content,
        media_type=file.media_type,
        headers={"Content-Disposition": f"attachment; filename*=UTF-8''{quote(file.name)}"},
    )
