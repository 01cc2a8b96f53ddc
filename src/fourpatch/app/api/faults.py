"""What an API answers when it cannot: the same texts that the command line and the pages show."""

from collections.abc import Mapping

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException

from fourpatch.errors import FieldsError, FourpatchError, NotebookConflict, NotebookMissing


class Fault(BaseModel):
    """What went wrong and what to do."""

    message: str = Field(description="Names the field, the value and the remedy.")
    fields: dict[str, str] = Field(
        default_factory=dict, description="The same by field, where the fault lies in fields."
    )


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
        return _answer(status, str(error), error.fields if isinstance(error, FieldsError) else {})

    @server.exception_handler(RequestValidationError)
    async def not_as_described(request: Request, error: Exception) -> JSONResponse:
        assert isinstance(error, RequestValidationError)
        fields: dict[str, str] = {}
        for one in error.errors():
            where, *names = (str(name) for name in one["loc"])
            fields.setdefault(".".join(names) or where, str(one["msg"]))
        return _answer(422, "\n".join(f"{name}: {text}." for name, text in fields.items()), fields)

    @server.exception_handler(UnicodeEncodeError)
    async def no_text(request: Request, error: Exception) -> JSONResponse:
        return _answer(
            422, "A text holds half of a pair of surrogates, which is no character. Leave it out.", {}
        )

    @server.exception_handler(HTTPException)
    async def stopped(request: Request, error: Exception) -> JSONResponse:
        assert isinstance(error, HTTPException)
        return _answer(error.status_code, str(error.detail), {}, error.headers)


def _answer(
    status: int, message: str, fields: Mapping[str, str], headers: Mapping[str, str] | None = None
) -> JSONResponse:
    said = {_sayable(name): _sayable(text) for name, text in fields.items()}
    content = {"message": _sayable(message), "fields": said}
    return JSONResponse(status_code=status, content=content, headers=dict(headers) if headers else None)


def _sayable(text: str) -> str:
    """Return a text as it can be sent: what is no character, half a pair, is replaced."""
    return text.encode("utf-8", "replace").decode()
