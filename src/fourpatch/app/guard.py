"""Who may speak to the server: pages of its own, called by an address of its own, and nobody else's."""

from collections.abc import Sequence
from urllib.parse import urlsplit

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Receive, Scope, Send

LOOPBACK = ("127.0.0.1", "localhost", "[::1]")


class Guard:
    """Refuses what is not addressed to the hosts it answers to, and what another web page sends.

    Notes
    -----
    A page of another host that makes a browser call 127.0.0.1 names itself in ``Origin``; one that has its
    own name resolve to 127.0.0.1 (rebinding) is told by ``Host``. Both hold for web sockets too. A request
    without ``Origin`` comes from a program or from following a link: it may read, and a form of another page
    cannot write, since browsers name the origin of every request that is not a plain GET.
    """

    def __init__(self, app: ASGIApp, port: int, hosts: Sequence[str] = LOOPBACK) -> None:
        self.app = app
        self.named = " and ".join(host for host in hosts if host != LOOPBACK[-1])
        self.hosts = {f"{host}:{port}" for host in hosts} | (set(hosts) if port == 80 else set())

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it with 403."""
        if scope["type"] in ("http", "websocket") and (refusal := self.refusal(Headers(scope=scope))):
            if scope["type"] == "websocket":
                await send({"type": "websocket.close", "code": 1008, "reason": refusal})
                return
            await PlainTextResponse(refusal, status_code=403)(scope, receive, send)
            return
        await self.app(scope, receive, send)

    def refusal(self, headers: Headers) -> str:
        """Return why a request is refused, or nothing."""
        host = headers.get("host", "")
        if host not in self.hosts:
            return f'This server answers to {self.named} only, not to "{host}".'
        origin = headers.get("origin")
        if origin is not None and urlsplit(origin).netloc not in self.hosts:
            return f'Another page, "{origin}", may not use this server.'
        return ""
