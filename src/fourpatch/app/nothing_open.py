"""What is asked for while the notebook has no set-up: its page, where they come back from."""

from collections.abc import Callable, Collection

from starlette.responses import RedirectResponse
from starlette.types import ASGIApp, Receive, Scope, Send


class NothingOpen:
    """Leads who asks for a page that needs a set-up to the notebook's, while there is none."""

    def __init__(self, app: ASGIApp, can_open: Callable[[], bool], paths: Collection[str]) -> None:
        """Wrap the app.

        Parameters
        ----------
        can_open : says whether there is something to open.
        paths : of the pages that need a set-up.
        """
        self.app, self.can_open, self.paths = app, can_open, frozenset(paths)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or lead it to the notebook's page."""
        if scope["type"] == "http" and scope["path"] in self.paths and not self.can_open():
            await RedirectResponse("/notebook", status_code=303)(scope, receive, send)
            return
        await self.app(scope, receive, send)
