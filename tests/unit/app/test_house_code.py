"""Another device of the house sees nothing of the app until the code is typed on it."""

import asyncio
from typing import Any

import pytest

from fourpatch.app.house_code import MOST_TRIES, AskCode, HouseCode

TABLET, HERE = "192.168.1.20", "127.0.0.1"


class Asked:
    """What a server behind the code answers to one client."""

    def __init__(self, code: HouseCode) -> None:
        self.passed = 0
        self._server = AskCode(self._inner, code)

    async def _inner(self, scope: Any, receive: Any, send: Any) -> None:
        self.passed += 1

    def __call__(
        self,
        path: str = "/",
        *,
        client: str | None = TABLET,
        kind: str = "http",
        body: bytes | None = None,
        cookie: str = "",
    ) -> dict[str, Any]:
        """Return the first message of the answer; empty where the request was let through."""
        sent: list[dict[str, Any]] = []

        async def send(message: Any) -> None:
            sent.append(message)

        async def receive() -> Any:
            return {"type": "http.request", "body": body or b""}

        scope = {
            "type": kind,
            "method": "GET" if body is None else "POST",
            "path": path,
            "headers": [(b"cookie", cookie.encode())] if cookie else [],
            "client": (client, 5000) if client else None,
        }
        asyncio.run(self._server(scope, receive, send))
        self.text = b"".join(one.get("body", b"") for one in sent).decode()
        return sent[0] if sent else {}

    def typed(self, code: str) -> dict[str, Any]:
        """Return the answer to a code that is typed."""
        return self("/code", body=f"code={code}".encode())


def cookie_of(answer: dict[str, Any]) -> str:
    return next(value.decode() for name, value in answer["headers"] if name == b"set-cookie")


@pytest.mark.parametrize("client", [TABLET, "10.0.0.7", None])
@pytest.mark.parametrize("path", ["/", "/code", "/api/cars", "/_nicegui/3/static/x.js", "//", "/API/cars"])
def test_without_the_code_nothing_passes(client: str | None, path: str) -> None:
    asked = Asked(HouseCode())
    assert asked(path, client=client)["status"] == 401
    assert asked(path, client=client, cookie="fourpatch-house=; a/b=1; =; ;\x80")["status"] == 401
    closed = asked(path, client=client, kind="websocket", cookie="fourpatch-house=guessed")
    assert (closed["type"], closed["code"]) == ("websocket.close", 1008)
    assert asked.passed == 0


def test_this_machine_types_nothing() -> None:
    asked = Asked(HouseCode())
    asked("/", client=HERE)
    asked("/", client="::1", kind="websocket")
    assert asked.passed == 2


@pytest.mark.parametrize("spelt", [lambda code: code, lambda code: code.replace(" ", "-").lower()])
def test_the_code_opens_for_who_has_typed_it_alone(spelt: Any) -> None:
    code = HouseCode()
    asked = Asked(code)
    answer = asked.typed(spelt(code.shown))
    assert answer["status"] == 303
    said = cookie_of(answer)
    assert {"HttpOnly", "Path=/", "SameSite=strict"} <= {one.strip() for one in said.split(";")}
    ticket = said.split(";")[0]
    asked("/lap", cookie=ticket)
    asked("/_nicegui_ws/", kind="websocket", cookie=ticket)
    assert asked.passed == 2
    assert asked.typed(f"{code.shown}&more={'x' * 1000}")["status"] == 401  # no form of ours
    assert asked("/lap")["status"] == 401  # another device
    other = HouseCode()
    assert Asked(other)("/lap", cookie=ticket)["status"] == 401  # another run of the workbench
    assert other.shown != code.shown


def test_guessing_comes_to_an_end() -> None:
    code = HouseCode()
    asked = Asked(code)
    early = cookie_of(asked.typed(code.shown)).split(";")[0]
    for _ in range(MOST_TRIES):
        assert asked.typed("WRONG")["status"] == 401
    assert "Too many wrong codes" in asked.text
    assert asked.typed(code.shown)["status"] == 401  # the right one too
    asked("/", cookie=early)  # who was in stays in
    assert asked.passed == 1


@pytest.mark.parametrize(
    "body", [b"", b"code=", b"\xff\xfe", b"code=" + b"A" * 5000, "code=É".encode(), b"x=1"]
)
def test_what_is_no_code_is_refused(body: bytes) -> None:
    asked = Asked(HouseCode())
    assert asked("/code", body=body)["status"] == 401
    assert "That is not the code." in asked.text
