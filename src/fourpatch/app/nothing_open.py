"""What is asked for while the notebook has no set-up: its page, where they come back from."""

from collections.abc import Collection

from starlette.responses import RedirectResponse
from starlette.types import ASGIApp, Receive, Scope, Send

from fourpatch.notebook.notebook import Notebook


class NothingOpen:
    """Leads who asks for a page that needs a set-up to the notebook's, while there is none."""

    def __init__(self, app: ASGIApp, notebook: Notebook, paths: Collection[str]) -> None:
        """Wrap the app.

        Parameters
        ----------
        paths : of the pages that need a set-up.
        """
        self.app, self.notebook, self.paths = app, notebook, frozenset(paths)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or lead it to the notebook's page."""
        if scope["type"] == "http" and scope["path"] in self.paths and not self._has_setup():
            await RedirectResponse("/notebook", status_code=303)(scope, receive, send)
            return
        await self.app(scope, receive, send)

    def _has_setup(self) -> bool:
        return any(self.notebook.setups.listed(car.id) for car in self.notebook.cars.listed())
