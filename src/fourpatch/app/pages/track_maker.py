"""A new track on the page of tracks: from words or from a file, shown before it is kept."""

import asyncio
from collections.abc import Callable
from typing import Any
from urllib.parse import urlencode

from nicegui import ui

from fourpatch.app.answers.track_making import Made, Making, from_file, sketched
from fourpatch.app.answers.tracks import TrackMap, track_map
from fourpatch.app.fault import fault_text
from fourpatch.app.parts.button import button
from fourpatch.app.parts.choice import Choice
from fourpatch.app.parts.file_button import FileButton, GivenFile
from fourpatch.app.parts.lap_map import LapMap
from fourpatch.app.parts.plain import plain
from fourpatch.app.parts.points_map import PointsMap
from fourpatch.app.shop import Shop
from fourpatch.app.words import capital
from fourpatch.errors import FieldsError, FourpatchError
from fourpatch.track.rough_points import PointsError
from fourpatch.track.sketch import EXAMPLE_SKETCH, lay_sketch, read_sketch

BY = "tracks page"
VALUE = "(event) => emit(event.target.value)"
_LEAD = (
    "Tell the track as you remember it, corner by corner, or give a file in which somebody drove it: one lap "
    "of a position receiver is enough."
)
_WORDS = (
    "One straight or corner a line, from the start line on. A corner is left or right, and whatever you know "
    "of it: a gear, a radius (40 m) or the slowest speed (80 km/h); an angle (90 deg) or short, medium, "
    "long, hairpin; opening or closing. What you leave out is estimated and said."
)
_FILES = (
    "CSV or GPX: latitude and longitude, x and y, distance and curvature, or speed and yaw rate. Points may "
    "be off by metres, and go round as often as you like."
)


def open_track(track: int, setup: str) -> None:
    """Open the page with a track.

    Parameters
    ----------
    setup : id of the set-up that is open, carried along; may be empty.
    """
    query = {"track": str(track)} | ({"setup": setup} if setup else {})
    ui.navigate.to(f"/tracks?{urlencode(query)}")


class TrackMaker:
    """A new track: from words or from a file, shown before it is kept."""

    def __init__(self, shop: Shop, setup: str, *, open_: bool) -> None:
        self._shop, self._setup = shop, setup
        self._making = Making()
        self._again: Callable[[], Made] | None = None
        self._text = EXAMPLE_SKETCH
        with ui.element("details").classes("fp-card").props("open" if open_ else ""):
            with ui.element("summary").classes("fp-strong"):
                plain("Make a new track")
            ui.label(_LEAD)
            self._draw_common()
            with ui.element("div").classes("fp-make-two"):
                with ui.element("div").classes("fp-stack"):
                    self._draw_words()
                    self._draw_file()
                self._seen = ui.element("div").classes("fp-stack").props('aria-live="polite"')

    def _draw_words(self) -> None:
        with ui.element("section").classes("fp-stack").props('aria-labelledby="fp-by-words"'):
            ui.html('<h3 id="fp-by-words">Told in words</h3>', sanitize=False)
            ui.html(f'<label for="fp-sketch" class="fp-small fp-soft">{_WORDS}</label>', sanitize=False)
            words = ui.element("textarea").classes("fp-field fp-sketch")
            words.props('id="fp-sketch" rows="11" maxlength="20000" spellcheck="false"')
            words._props["value"] = EXAMPLE_SKETCH
            words.on("input", self._type, js_handler="(e) => emit(e.target.value)")
            with ui.element("div").classes("fp-row"):
                button("Lay it out", self._lay, main=True)

    def _draw_file(self) -> None:
        with ui.element("section").classes("fp-stack").props('aria-labelledby="fp-by-file"'):
            ui.html('<h3 id="fp-by-file">From a file</h3>', sanitize=False)
            ui.label(_FILES).classes("fp-small fp-soft")
            with ui.element("div").classes("fp-row"):
                FileButton(
                    "Choose a file",
                    self._read,
                    tell="CSV, plain or packed, or GPX 1.1",
                    accept=".csv,.txt,.gpx,.gz",
                )

    def _draw_common(self) -> None:
        with ui.element("div").classes("fp-row fp-level"):
            ui.html('<label for="fp-new-track">It is called</label>', sanitize=False)
            name = ui.element("input").classes("fp-field").props('id="fp-new-track" maxlength="80"')
            name._props["^value"] = self._making.name
            name.on("change", lambda event: self._set("name", str(event.args).strip()), js_handler=VALUE)
            ui.html('<label for="fp-new-width">and is wide</label>', sanitize=False)
            width = ui.element("input").classes("fp-field fp-num fp-narrow-field")
            width.props('id="fp-new-width" type="number" min="3" max="40" step="0.5"')
            width._props["^value"] = f"{self._making.width:g}"
            width.on("change", lambda event: self._set("width", str(event.args)), js_handler=VALUE)
            ui.label("m")
            Choice(
                "It is",
                {"lap": "a lap", "road": "a road with two ends"},
                "lap",
                on_choose=lambda key: self._set("closed", key == "lap"),
            )
            Choice(
                "driven",
                {"as": "as told", "back": "the other way round"},
                "as",
                on_choose=lambda key: self._set("backward", key == "back"),
            )

    async def _set(self, key: str, value: object) -> None:
        try:
            self._making = Making.model_validate({**self._making.model_dump(), key: value})
        except ValueError:
            self._show_fault("A track has a name, and is 3 to 40 m wide.")
            return
        if self._again is not None:
            await self._make(self._again)

    def _type(self, event: Any) -> None:
        self._text = str(event.args)

    async def _lay(self) -> None:
        text = self._text
        await self._make(lambda: sketched(text, self._making))

    async def _read(self, files: list[GivenFile]) -> None:
        if files:
            one = files[0]
            await self._make(lambda: from_file(one.name, one.content, self._making))

    async def _make(self, make: Callable[[], Made]) -> None:
        """Make the track anew and show it, or say where it cannot be."""
        self._again = make
        self._seen.clear()
        with self._seen:
            ui.label("Laying it out ...").classes("fp-soft").props('role="status"')
        try:
            made = await asyncio.to_thread(make)
            seen = await asyncio.to_thread(track_map, 0, made.track)
        except FieldsError as error:
            self._show_fault(_lines_text(error))
        except PointsError as error:
            self._show_fault(capital(str(error)))
            if error.given is not None:
                with self._seen:
                    PointsMap(
                        error.given.x, error.given.y, error.places, title="The points as they were given"
                    )
        except FourpatchError as error:
            self._show_fault(capital(fault_text(error)))
            await self._show_open_sketch()
        else:
            self._show(made, seen)

    async def _show_open_sketch(self) -> None:
        """Show where the pieces of a sketch that does not close would lead."""
        try:
            laid = await asyncio.to_thread(lambda: lay_sketch(read_sketch(self._text), closed=False))
        except FourpatchError:
            return
        line = laid.line.draw().line
        import numpy as np

        read = line.at(np.linspace(0.0, line.length, 600))
        with self._seen:
            PointsMap(read.x, read.y, (), title="Where the pieces lead, one after the other")

    def _show_fault(self, text: str) -> None:
        self._seen.clear()
        with self._seen:
            ui.label(text).classes("fp-warnbox").props('role="alert"')

    def _show(self, made: Made, seen: TrackMap) -> None:
        self._seen.clear()
        with self._seen:
            ui.label(f"{seen.track.name}: {seen.track.length:.0f} m, {seen.track.corners} corners.").classes(
                "fp-strong"
            )

            async def nothing(corner: str) -> None: ...

            sheet = LapMap(link="new", on_choose=nothing)
            sheet.set_track(seen)
            if made.told:
                ui.label(made.told[0] if len(made.told) == 1 else " ".join(made.told[:3]))
            if len(made.told) > 3:
                with ui.element("details"):
                    with ui.element("summary"):
                        plain(f"{len(made.told) - 3} more estimates and changes")
                    for sentence in made.told[3:]:
                        ui.label(sentence).classes("fp-small")
            with ui.element("div").classes("fp-row"):
                button("Keep this track", lambda: self._keep(made), main=True)

    def _keep(self, made: Made) -> None:
        entry = self._shop.notebook.tracks.add(made.track, by=BY)
        open_track(entry.id, self._setup)


def _lines_text(error: FieldsError) -> str:
    return "\n".join(
        f"Line {name.removeprefix('piece ')}: {text}" if name.startswith("piece") else f"The {name} {text}"
        for name, text in error.fields.items()
    )
