"""A code that lets another device of the same house in: the tablet beside the car, a second notebook."""

import secrets
import socket
from dataclasses import dataclass
from ipaddress import ip_address
from urllib.parse import parse_qs

from starlette.requests import HTTPConnection
from starlette.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

MOST_TRIES = 20
"""Wrong codes that are taken in all; then nobody is let in any more until the workbench is started again."""

COOKIE = "fourpatch-house"
PATH = "/code"

_LETTERS = "ACDEFHJKLMNPQRTUVWXY3479"  # none that looks like another
_LENGTH = 8
_LARGEST = 200  # bytes of a form that holds a code


class HouseCode:
    """The code of one run of the workbench, and who has typed it.

    Notes
    -----
    A guess meets one of 24⁸ codes, about 10¹¹; all tries together are `MOST_TRIES`.
    """

    def __init__(self) -> None:
        self._code = "".join(secrets.choice(_LETTERS) for _ in range(_LENGTH))
        self._tickets: set[str] = set()
        self._wrong = 0

    @property
    def shown(self) -> str:
        """The code as it is read out."""
        return f"{self._code[:4]} {self._code[4:]}"

    @property
    def shut(self) -> bool:
        """Whether too many wrong codes were typed."""
        return self._wrong >= MOST_TRIES

    def ticket(self, typed: str) -> str | None:
        """Return what lets in who has typed the code, or None; how it is spaced and in which case is free."""
        if self.shut:
            return None
        plain = "".join(one for one in typed.upper() if one.isalnum())
        if not secrets.compare_digest(plain.encode(), self._code.encode()):
            self._wrong += 1
            return None
        ticket = secrets.token_urlsafe(32)
        self._tickets.add(ticket)
        return ticket

    def lets_in(self, ticket: str) -> bool:
        """Return whether a ticket was given out."""
        # No `any`: how long it takes must not depend on which one it is like.
        return 0 < sum(secrets.compare_digest(ticket.encode(), one.encode()) for one in self._tickets)


@dataclass(frozen=True, kw_only=True)
class House:
    """Where the workbench listens for other devices of the house, and what they must type."""

    host: str
    place: socket.socket
    code: HouseCode


class AskCode:
    """Asks everybody but this machine for the code, before anything of the app is seen."""

    def __init__(self, app: ASGIApp, code: HouseCode) -> None:
        self._app, self._code = app, code

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it with the question for the code."""
        if scope["type"] not in ("http", "websocket") or self._is_let_in(scope):
            await self._app(scope, receive, send)
        elif scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008, "reason": "the code is not typed yet"})
        else:
            await (await self._answer(scope, receive))(scope, receive, send)

    def _is_let_in(self, scope: Scope) -> bool:
        client = scope.get("client")
        if client and ip_address(client[0]).is_loopback:
            return True
        return self._code.lets_in(HTTPConnection(scope).cookies.get(COOKIE, ""))

    async def _answer(self, scope: Scope, receive: Receive) -> Response:
        if scope["path"] != PATH or scope["method"] != "POST":
            if scope["path"].startswith("/api/"):
                return PlainTextResponse("Type the workbench's code first, on its first page.", 401)
            return self._question("")
        ticket = self._code.ticket(await _typed(receive))
        if ticket is None:
            return self._question("That is not the code.")
        answer = RedirectResponse("/start", 303)
        answer.set_cookie(COOKIE, ticket, httponly=True, samesite="strict")
        return answer

    def _question(self, said: str) -> Response:
        if self._code.shut:
            said = "Too many wrong codes. Start the workbench again for a new one."
        page = _PAGE.replace("{said}", f'<p role="alert">{said}</p>' if said else "")
        return HTMLResponse(page, 401, {"cache-control": "no-store", "x-frame-options": "DENY"})


async def _typed(receive: Receive) -> str:
    """Return the code in a form that is sent; empty if there is none."""
    body, more = b"", True
    while more and len(body) <= _LARGEST:
        message = await receive()
        body += message.get("body", b"")
        more = message.get("more_body", False)
    if len(body) > _LARGEST:
        return ""
    return parse_qs(body.decode("ascii", "replace")).get("code", [""])[0]


_PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>Code · Fourpatch</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
<style>
  body { font: 1.1rem/1.5 system-ui, sans-serif; max-width: 26rem; margin: 12vh auto; padding: 0 1rem; }
  body { color: #1c2321; background: #f4f6f5; }
  form { display: flex; flex-wrap: wrap; gap: .6rem; align-items: end; }
  input { font: 1.5rem ui-monospace, monospace; width: 11ch; padding: .3rem .5rem; display: block; }
  input { text-transform: uppercase; }
  button { font: inherit; padding: .6rem 1.2rem; color: #fff; background: #0b6b4b; border: 0; }
  [role=alert] { color: #8c1d18; }
</style></head>
<body><main><h1>Fourpatch</h1>
<p>Type the code that stands where the workbench was started.</p>
<form method="post" action="/code">
<label>Code <input name="code" autocomplete="off" autocapitalize="characters" spellcheck="false"
 maxlength="20" required autofocus></label>
<button>Open</button></form>{said}</main></body></html>
"""
