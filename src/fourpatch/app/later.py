"""A part of the server that is loaded when first asked for: the first page need not wait for it."""

import asyncio
from collections.abc import Callable
from functools import cache

from starlette.types import ASGIApp, Receive, Scope, Send


class Later:
    """Hands what is asked below an address to a server made for the first who asks."""

    def __init__(self, app: ASGIApp, below: str, make: Callable[[], ASGIApp]) -> None:
        """Wrap the app.

        Parameters
        ----------
        below : what the addresses of the other server begin with.
        make : makes it, in a thread.
        """
        self.app, self.below, self.make = app, below, cache(make)
        self._making = asyncio.Lock()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on to whom it is for."""
        app = self.app
        if scope["type"] == "http" and scope["path"].startswith(self.below):
            async with self._making:
                app = await asyncio.to_thread(self.make)
        await app(scope, receive, send)
