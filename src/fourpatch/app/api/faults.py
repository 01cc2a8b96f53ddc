"""What an API answers when it cannot: the same texts that the command line and the pages show."""

from fastapi import FastAPI, Request
from fastapi.responses import JSONResponse
from pydantic import BaseModel, Field

from fourpatch.errors import FourpatchError, NotebookConflict, NotebookMissing


class Fault(BaseModel):
    """What went wrong and what to do."""

    message: str = Field(description="Names the field, the value and the remedy.")


FAULTS: dict[int | str, dict[str, type[Fault] | str]] = {
    404: {"model": Fault, "description": "There is nothing of that name or number."},
    409: {"model": Fault, "description": "Somebody else has changed it since it was read."},
    422: {"model": Fault, "description": "Something in what was sent, or in what it names, is wrong."},
}
"""Answers that every route may give."""


_STATUS = {NotebookMissing: 404, NotebookConflict: 409}


def answer_faults(server: FastAPI) -> None:
    """Have every error a user can meet answered as one, and never as a fault of the server."""

    @server.exception_handler(FourpatchError)
    async def refused(request: Request, error: Exception) -> JSONResponse:
        status = next((code for kind, code in _STATUS.items() if isinstance(error, kind)), 422)
        return JSONResponse(status_code=status, content={"message": str(error)})
