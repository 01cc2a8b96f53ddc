"""Set-ups by pace and another objective: a plot whose points are walked by keys, a table, one to try."""

from collections.abc import Callable
from typing import Any

from nicegui import events
from nicegui.element import Element

from fourpatch.advice.trade_off import OBJECTIVES, TradeOff, TradePoint
from fourpatch.app.parts.term import term_html
from fourpatch.app.words import capital, shown_text, signed, true_minus
from fourpatch.picture.trade_off_words import DECIMALS, moved_from, unit_of


class TradeBoard(Element, component="trade_board.js"):
    """Plot and table of one answer."""

    def __init__(self, found: TradeOff, *, on_try: Callable[[int], Any], held: int | None = None) -> None:
        """Draw both.

        Parameters
        ----------
        on_try : told the place in ``found.points`` of the one to put into B.
        held : place of the set-up that B stands at; None if none.
        """
        super().__init__()
        self._props["names"] = list(OBJECTIVES)
        self._props["heads"] = {name: term_html(name.capitalize(), name) for name in OBJECTIVES}
        self.show(found, held=held)

        def tried(event: events.GenericEventArguments) -> None:
            on_try(int(event.args["place"]))

        self.on("tried", tried)

    def show(self, found: TradeOff, *, held: int | None) -> None:
        """Draw an answer in place of the one before; what is chosen stays chosen."""
        front = {point.positions for point in found.front}
        places = {point.positions: place for place, point in enumerate(found.points)}
        picks = {"calmer": found.calmer, "quicker": found.quicker}
        self._props["points"] = [_point(found, one, one.positions in front) for one in found.points]
        self._props["picks"] = {name: one and places[one.positions] for name, one in picks.items()}
        self._props["pace"] = "Lap time" if found.pace_unit == "s" else "Grip used"
        self._props["units"] = {name: unit_of(found, name) for name in OBJECTIVES}
        self._props["counted"] = list(found.objectives)
        self._props["held"] = held
        self.update()

    def hold(self, place: int | None) -> None:
        """Mark the set-up that B stands at."""
        self._props["held"] = place
        self.update()


def _point(found: TradeOff, one: TradePoint, on_front: bool) -> dict[str, Any]:
    present = found.present
    now = {name: true_minus(f"{one.of(name):.{places}f}") for name, places in DECIMALS.items()}
    return {
        "at": {name: round(one.of(name), 4) for name in OBJECTIVES},
        "front": on_front,
        "moved": shown_text(capital(moved_from(found, one))) or "As it stood when you asked",
        "now": now,
        "worked": f" ({one.most_worked}; all four {one.total_work:.0f})",
        "change": {
            name: "" if one is present else signed(one.of(name) - present.of(name), places)
            for name, places in DECIMALS.items()
        },
    }
