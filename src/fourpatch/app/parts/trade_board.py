"""Set-ups by pace and calmness: a plot whose points are walked by keys, a table beside it, one to try."""

from collections.abc import Callable
from typing import Any

from nicegui import events
from nicegui.element import Element

from fourpatch.app.answers.trade_off import TradeOffAnswer
from fourpatch.app.parts.term import term_html
from fourpatch.app.words import capital, signed, true_minus


class TradeBoard(Element, component="trade_board.js"):
    """Plot and table of one answer."""

    def __init__(
        self, answer: TradeOffAnswer, *, on_try: Callable[[int], Any], held: int | None = None
    ) -> None:
        """Draw both.

        Parameters
        ----------
        on_try : told the place in ``answer.setups`` of the one to put into B.
        held : place of the set-up that B stands at; None if none.
        """
        super().__init__()
        self._props["points"] = [_point(answer, place) for place in range(len(answer.setups))]
        self._props["picks"] = {"calmer": answer.calmer, "quicker": answer.quicker}
        self._props["pace"] = "Lap time" if answer.pace_unit == "s" else "Grip used"
        self._props["unit"] = answer.pace_unit
        self._props["heads"] = {
            name: term_html(name.capitalize(), name) for name in ("pace", "bumps", "calmness")
        }
        self._props["held"] = held

        def tried(event: events.GenericEventArguments) -> None:
            on_try(int(event.args["place"]))

        self.on("tried", tried)

    def hold(self, place: int | None) -> None:
        """Mark the set-up that B stands at."""
        self._props["held"] = place
        self.update()


def _point(answer: TradeOffAnswer, place: int) -> dict[str, Any]:
    one, present = answer.setups[place], answer.setups[0]
    decimals = {"pace": 2, "bumps": 2, "calmness": 1}
    return {
        "x": round(one.calmness, 4),
        "y": round(one.pace, 4),
        "front": one.on_front,
        "moved": true_minus(capital(one.moved)) or "As it stood when you asked",
        "now": {
            name: f"{getattr(one, name):.{places}f}".replace("-", "−") for name, places in decimals.items()
        },
        "change": {
            name: "" if place == 0 else signed(getattr(one, name) - getattr(present, name), places)
            for name, places in decimals.items()
        },
    }
