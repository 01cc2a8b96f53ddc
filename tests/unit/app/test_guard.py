"""The server speaks to this machine's own pages alone."""

import asyncio
from typing import Any

import pytest

from fourpatch.app.guard import Guard


def answered(kind: str, headers: dict[str, str]) -> Any:
    """What a guarded server answers: "through", or what the guard says itself."""
    sent: list[Any] = []

    async def inner(scope: Any, receive: Any, send: Any) -> None:
        sent.append("through")

    async def send(message: Any) -> None:
        sent.append(message)

    async def receive() -> Any:
        return {"type": "http.request"}

    scope = {
        "type": kind,
        "method": "GET",
        "path": "/",
        "headers": [(k.encode(), v.encode()) for k, v in headers.items()],
    }
    asyncio.run(Guard(inner, port=8000)(scope, receive, send))
    return sent[0]


@pytest.mark.parametrize("host", ["127.0.0.1:8000", "localhost:8000", "[::1]:8000"])
@pytest.mark.parametrize("kind", ["http", "websocket"])
def test_the_loopback_is_let_through(host: str, kind: str) -> None:
    assert answered(kind, {"host": host}) == "through"
    assert answered(kind, {"host": host, "origin": f"http://{host}"}) == "through"


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"host": "evil.example"},
        {"host": "evil.example:8000"},
        {"host": "127.0.0.1:9000"},
        {"host": "127.0.0.1:8000", "origin": "http://evil.example"},
        {"host": "127.0.0.1:8000", "origin": "http://127.0.0.1:9000"},
        {"host": "127.0.0.1:8000", "origin": "null"},
    ],
)
def test_everybody_else_is_refused(headers: dict[str, str]) -> None:
    assert answered("http", headers)["status"] == 403
    closed = answered("websocket", headers)
    assert closed["type"] == "websocket.close"
    assert closed["code"] == 1008  # RFC 6455: violates a policy
