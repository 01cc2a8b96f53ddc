"""One adjuster as a slider with its ends named: for a page that is about nothing else."""

from collections.abc import Callable

from nicegui import events, ui

from fourpatch.app.parts.plain import plain
from fourpatch.app.words import capital
from fourpatch.car.adjusters import Adjuster
from fourpatch.car.scale_words import standing_at


class OneSlider:
    """A native slider over the whole scale of an adjuster."""

    def __init__(self, adjuster: Adjuster, position: float, *, on_turn: Callable[[float], None]) -> None:
        """Draw it.

        Parameters
        ----------
        on_turn : told the position, one that the scale has.
        """
        self._adjuster = adjuster
        with ui.element("div").classes("fp-slider"):
            plain(self._text(adjuster.lowest))
            self._input = ui.element("input").props('type="range"')
            self._input._props |= {
                "min": adjuster.lowest,
                "max": adjuster.highest,
                "step": adjuster.step,
                "^value": position,  # a start only: the hand moves it from here
                "aria-label": f"{capital(adjuster.name)}. A higher number means: {adjuster.more_means}",
            }
            plain(self._text(adjuster.highest))
            with ui.element("output") as self._output:
                self._said = ui.label().props('role="status"')
        self.say(position)

        def turned(event: events.GenericEventArguments) -> None:
            if isinstance(event.args, int | float):
                on_turn(adjuster.nearest(float(event.args)))

        self._input.on(
            "input", turned, js_handler="(event) => emit(event.target.valueAsNumber)", throttle=0.05
        )

    def say(self, position: float) -> None:
        """Say where it stands."""
        self._said.set_text(f"{capital(self._adjuster.name)}: {self._text(position)}")

    def _text(self, position: float) -> str:
        return standing_at(position, self._adjuster.unit)
