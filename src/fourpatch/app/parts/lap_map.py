"""A track from above: edges, kerbs, surfaces, numbered corners, and a lap's line coloured by a number."""

from collections.abc import Awaitable, Callable, Sequence
from typing import Any

from nicegui import events
from nicegui.element import Element

from fourpatch.app.answers.tracks import TrackMap
from fourpatch.app.parts.chart import Array, packed


class LapMap(Element, component="lap_map.js"):
    """Tells which corner was chosen; shares its cursor, a distance along the centre line, with charts."""

    def __init__(
        self,
        *,
        link: str,
        on_choose: Callable[[str], Awaitable[None]],
        on_place: Callable[[float, float], None] | None = None,
    ) -> None:
        """Draw an empty map.

        Parameters
        ----------
        link : name of the cursor it shares.
        on_choose : told the corner's number.
        on_place : told where the road was clicked: the distance along the centre line, and how far to the
            left of it. [m]
        """
        super().__init__()
        self._props |= {"link": link, "placing": on_place is not None}
        if on_place is not None:
            self.on("placed", lambda event: on_place(float(event.args["at"]), float(event.args["off"])))

        async def chosen(event: events.GenericEventArguments) -> None:
            await on_choose(str(event.args))

        self.on("chosen", chosen)

    def set_track(self, track: TrackMap) -> Any:
        """Draw a track without a line."""
        return self.run_method("setTrack", track.model_dump(mode="json"))

    def set_line(self, x: Array, y: Array, station: Array, values: Array, *, scale: dict[str, Any]) -> Any:
        """Draw the line of a lap.

        Parameters
        ----------
        values : by which it is coloured, in shown units.
        scale : title, unit, kind ("speed" or "balance") and the bounds between its steps.
        """
        every = max(1, x.size // MOST_PLACES)
        rows = {"x": x, "y": y, "station": station, "values": values}
        payload = {name: packed(row[::every]) for name, row in rows.items()}
        return self.run_method("setLine", payload | {"scale": scale})

    def set_marks(self, marks: Sequence[dict[str, Any]]) -> Any:
        """Mark places: x, y, sign and text of each."""
        return self.run_method("setMarks", list(marks))

    def set_texts(self, texts: dict[str, str]) -> Any:
        """Write a short text beside the numbers of corners."""
        return self.run_method("setTexts", texts)

    def choose(self, corner: str) -> Any:
        """Mark a corner as chosen."""
        return self.run_method("choose", corner)


MOST_PLACES = 900
"""Of the line that are sent; 3 to 5 m apart."""
