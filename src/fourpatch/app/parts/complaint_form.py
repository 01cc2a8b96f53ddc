"""A complaint, typed or chosen, with what is understood of it read back at once."""

from collections.abc import Awaitable, Callable, Mapping
from typing import Any, get_args

from nicegui import events
from nicegui.element import Element

from fourpatch.advice.complaint import Behaviour, PhaseName, Place, Size, Window
from fourpatch.answers.cure import MOST_TEXT
from fourpatch.app.answers.complaint_read import ReadAnswer

EXAMPLE = "pushes on entry in slow corners"

PLAIN: dict[Behaviour, str] = {
    "understeer": "pushes (understeer)",
    "oversteer": "loose (oversteer)",
    "nervous": "nervous",
    "slow to answer": "slow to answer",
    "floats": "floats",
    "hops": "hops, loses grip on bumps",
    "thrown off kerbs": "thrown off kerbs",
    "bottoms": "bottoms",
    "locks fronts": "locks fronts",
    "locks rears": "locks rears",
    "spins the inside wheel": "spins the inside wheel",
    "inconsistent": "inconsistent",
}
"""What the car does, as a driver may say it."""

_PHASES: dict[PhaseName, str] = {
    "": "any phase",
    "braking": "under braking",
    "entry": "on entry",
    "mid": "at mid-corner",
    "exit": "on exit",
    "straight": "on the straight",
}
_WINDOWS: dict[Window, str] = {"": "all of it", "early": "early in it", "late": "late in it"}
_PLACES: dict[Place, str] = {
    "": "everywhere",
    "slow corner": "slow corners",
    "medium corner": "medium corners",
    "fast corner": "fast corners",
    "kerb": "over kerbs",
    "bumpy": "over bumps",
}
_SIZES: dict[Size, str] = {"": "not said", "a little": "a little", "clearly": "clearly", "badly": "badly"}


class ComplaintForm(Element, component="complaint_form.js"):
    """Tells what is typed, what is chosen, and when a cure is asked for."""

    def __init__(
        self,
        *,
        start: str,
        on_typed: Callable[[str], None],
        on_chose: Callable[[Mapping[str, str]], None],
        on_asked: Callable[[str], Awaitable[None]],
    ) -> None:
        """Draw the form.

        Parameters
        ----------
        start : text at first.
        """
        super().__init__()
        self._props |= {"choices": _choices(), "example": EXAMPLE, "most": MOST_TEXT, "start": start}

        def typed(event: events.GenericEventArguments) -> None:
            on_typed(str(event.args)[:MOST_TEXT])

        def chose(event: events.GenericEventArguments) -> None:
            on_chose({str(key): str(value) for key, value in event.args.items()})

        async def asked(event: events.GenericEventArguments) -> None:
            await on_asked(str(event.args)[:MOST_TEXT])

        self.on("typed", typed)
        self.on("chose", chose)
        self.on("asked", asked)

    def put(self, text: str) -> None:
        """Write a text as if it had been typed."""
        self.run_method("put", text)

    def show(self, reading: ReadAnswer) -> None:
        """Show what was understood; of one complaint also in the choices."""
        told: dict[str, Any] = {
            "typed": reading.typed,
            "said": reading.said if reading.typed.strip() else "",
            "ok": bool(reading.complaints),
            "nearest": reading.nearest if reading.typed.strip() else [],
            "chosen": None,
        }
        if len(reading.complaints) == 1:
            one = reading.complaints[0]
            told["chosen"] = one.model_dump(include={"behaviour", "phase", "window", "place", "size"})
        self.run_method("show", told)


def _choices() -> list[dict[str, Any]]:
    behaviours = {"": "...", **{one: PLAIN[one] for one in get_args(Behaviour)}}
    return [
        {"key": key, "label": label, "options": [{"value": v, "label": shown} for v, shown in table.items()]}
        for key, label, table in (
            ("behaviour", "What it does", behaviours),
            ("phase", "Phase", _PHASES),
            ("window", "Half of it", _WINDOWS),
            ("place", "Where", _PLACES),
            ("size", "How much", _SIZES),
        )
    ]
