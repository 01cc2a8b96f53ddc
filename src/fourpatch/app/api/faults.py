"""What an API answers when it cannot: the same texts that the command line and the pages show."""

from collections.abc import Mapping
from typing import Any

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
    400: {"model": Fault, "description": "What was sent cannot be read at all."},
    404: {"model": Fault, "description": "There is nothing of that name or number."},
    409: {"model": Fault, "description": "Somebody else has changed it since it was read."},
    422: {"model": Fault, "description": "Something in what was sent, or in what it names, is wrong."},
}
"""Answers that every route may give."""

FAULTS_OF_A_PAGE: dict[int | str, dict[str, Any]] = {
    code: {
        "description": fault["description"],
        "content": {"application/json": {"schema": {"$ref": "#/components/schemas/Fault"}}},
    }
    for code, fault in FAULTS.items()
}
"""Of a route whose answer is a page: what it refuses is told as by every other."""


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
            if one["type"] == "json_invalid":  # its place is a sign of the text, no field
                names = []
            fields.setdefault(".".join(names) or where, refusal_text(one))
        return _answer(422, "\n".join(f"{name} {text}." for name, text in fields.items()), fields)

    @server.exception_handler(UnicodeEncodeError)
    async def no_text(request: Request, error: Exception) -> JSONResponse:
        return _answer(
            422, "A text holds half of a pair of surrogates, which is no character. Leave it out.", {}
        )

    @server.exception_handler(HTTPException)
    async def stopped(request: Request, error: Exception) -> JSONResponse:
        assert isinstance(error, HTTPException)
        return _answer(error.status_code, str(error.detail), {}, error.headers)


def refusal_text(error: Mapping[str, Any]) -> str:
    """Return what is wrong with a field, after its name: what was found there, and what is allowed.

    Parameters
    ----------
    error : as pydantic describes it.
    """
    kind, said = error["type"], str(error["msg"])
    if kind == "missing":
        return "is missing; it must be given"
    if kind == "json_invalid":
        return f"is no JSON at sign {error['loc'][-1]}: {error['ctx']['error']}"
    if kind == "extra_forbidden":
        return "is not known here; leave it out, or look at the name"
    if kind == "quantity":  # says by itself what was found
        return said.removesuffix(".")
    found = f"is {_found(error['input'])}"
    if said.startswith("Input should be"):
        return f"{found}; it must be{said.removeprefix('Input should be')}"
    return f"{found}: {said.removeprefix('Value error, ')}"


def _found(value: object) -> str:
    """Return a value as it can stand in a sentence, cut where it is long."""
    if isinstance(value, dict):
        return f"a group of {len(value)}"
    if isinstance(value, list | tuple):
        return f"a list of {len(value)}"
    written = f'"{value}"' if isinstance(value, str) else _NAMED.get(str(value), str(value))
    return written if len(written) <= _MOST_SHOWN else f"{written[:_MOST_SHOWN]}..."


_NAMED = {"None": "null", "True": "true", "False": "false"}
_MOST_SHOWN = 60


def _answer(
    status: int, message: str, fields: Mapping[str, str], headers: Mapping[str, str] | None = None
) -> JSONResponse:
    said = {_sayable(name): _sayable(text) for name, text in fields.items()}
    content = {"message": _sayable(message), "fields": said}
    return JSONResponse(status_code=status, content=content, headers=dict(headers) if headers else None)


def _sayable(text: str) -> str:
    """Return a text as it can be sent: what is no character, half a pair, is replaced."""
    return text.encode("utf-8", "replace").decode()
