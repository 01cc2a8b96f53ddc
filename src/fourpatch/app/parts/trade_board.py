"""Set-ups by pace and another objective: a plot whose points are walked by keys, a table, one to try."""

from collections.abc import Callable
from typing import Any

from nicegui import events
from nicegui.element import Element

from fourpatch.advice.trade_off import OBJECTIVES
from fourpatch.app.answers.trade_off import TradeOffAnswer, TradeSetup
from fourpatch.app.parts.term import term_html
from fourpatch.app.words import capital, signed, true_minus
from fourpatch.picture.trade_off_words import DECIMALS


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
        self._props["names"] = list(OBJECTIVES)
        self._props["heads"] = {name: term_html(name.capitalize(), name) for name in OBJECTIVES}
        self.show(answer, held=held)

        def tried(event: events.GenericEventArguments) -> None:
            on_try(int(event.args["place"]))

        self.on("tried", tried)

    def show(self, answer: TradeOffAnswer, *, held: int | None) -> None:
        """Draw an answer in place of the one before; what is chosen stays chosen."""
        self._props["points"] = [_point(answer, place) for place in range(len(answer.setups))]
        self._props["picks"] = {"calmer": answer.calmer, "quicker": answer.quicker}
        self._props["pace"] = "Lap time" if answer.pace_unit == "s" else "Grip used"
        self._props["units"] = {name: _unit(answer, name) for name in OBJECTIVES}
        self._props["counted"] = answer.objectives
        self._props["held"] = held
        self.update()

    def hold(self, place: int | None) -> None:
        """Mark the set-up that B stands at."""
        self._props["held"] = place
        self.update()


def _unit(answer: TradeOffAnswer, objective: str) -> str:
    return {"pace": answer.pace_unit, "tyre work": "kJ/km"}.get(objective, "points")


def _of(one: TradeSetup, objective: str) -> float:
    value = getattr(one, objective.replace(" ", "_"))
    assert isinstance(value, float)
    return value


def _point(answer: TradeOffAnswer, place: int) -> dict[str, Any]:
    one, present = answer.setups[place], answer.setups[0]
    now = {name: f"{_of(one, name):.{places}f}".replace("-", "−") for name, places in DECIMALS.items()}
    worked = f" ({one.most_worked}; all four {one.total_work:.0f})"
    return {
        "at": {name: round(_of(one, name), 4) for name in OBJECTIVES},
        "front": one.on_front,
        "moved": true_minus(capital(one.moved)) or "As it stood when you asked",
        "now": now,
        "worked": worked,
        "change": {
            name: "" if place == 0 else signed(_of(one, name) - _of(present, name), places)
            for name, places in DECIMALS.items()
        },
    }
