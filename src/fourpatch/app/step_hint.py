"""What one step of the adjuster that is pointed at does: the last stage of a page's live loop."""

from collections.abc import Callable

from fourpatch.app.live import LiveLoop, Stage
from fourpatch.app.parts.setup_panel import SetupPanel
from fourpatch.app.state import Desk
from fourpatch.car.adjusters import adjuster
from fourpatch.car.setup import Setup, step

Text = Callable[[Setup | None, Setup | None], str]
"""Measures B with the adjuster one step up and one step down, None at its stop, and says what that does."""


class StepHint:
    """Remembers what is pointed at, and has it measured when nothing more urgent is left to do."""

    def __init__(self, desk: Desk, text: Text) -> None:
        self._desk, self._text = desk, text
        self._told = ""
        self._loop: LiveLoop | None = None
        self._panel: SetupPanel | None = None

    def tell(self, name: str) -> None:
        """Take the adjuster that is pointed at; what is shown of B stays as it is."""
        self._told = name
        if self._loop is not None:
            self._loop.wake_last()

    def say_in(self, panel: SetupPanel, loop: LiveLoop) -> None:
        """Say it below the steppers of a panel, whenever a loop comes to it."""
        self._panel, self._loop = panel, loop

    def stage(self) -> Stage:
        """Return the stage."""
        return Stage(self._compute, self._show)

    def _compute(self) -> tuple[str, str]:
        told, desk = self._told, self._desk
        if not told:
            return "", ""
        up, down = (step(desk.b, adjuster(desk.car, told), direction) for direction in (1, -1))
        return told, self._text(up, down)

    async def _show(self, found: tuple[str, str]) -> None:
        if found[0] and self._panel is not None:
            self._panel.board.hint(*found)
