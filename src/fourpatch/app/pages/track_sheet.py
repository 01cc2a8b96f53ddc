"""One track on the page of tracks: its map, on which things are put, and what lies on it."""

import asyncio
from collections.abc import Callable
from functools import partial
from html import escape
from typing import Annotated
from urllib.parse import urlencode

from nicegui import ui

from fourpatch.app.answers.tracks import TrackEntry
from fourpatch.app.fault import fault_text
from fourpatch.app.pages.track_maker import BY, VALUE, open_track
from fourpatch.app.parts.button import button
from fourpatch.app.parts.choice import Choice
from fourpatch.app.parts.lap_map import LapMap
from fourpatch.app.parts.plain import plain
from fourpatch.app.parts.plain_table import plain_table
from fourpatch.app.parts.quantity_form import QuantityForm
from fourpatch.app.shop import Shop
from fourpatch.app.words import capital
from fourpatch.document.part import Part
from fourpatch.errors import FourpatchError
from fourpatch.notebook.entries import Entry
from fourpatch.track.corner_names import with_corner_name
from fourpatch.track.corners import find_corners
from fourpatch.track.editing import (
    KERB_KINDS,
    with_bump,
    with_kerb,
    with_surface,
    with_width,
    without_kerbs,
)
from fourpatch.track.layout import lay_out
from fourpatch.track.track import Track, reversed_direction
from fourpatch.units import Unit

_PLACING = (
    "Click on the road where something begins, then where it ends; or write both places below. Places count "
    "from the start line in driving direction."
)
_MOST_OPEN = 9
"""Kerbs up to which all of them are listed at once."""
_CLASSES = {
    "A": "very smooth (class A)",
    "B": "smooth (class B)",
    "C": "usual for an old road (class C)",
    "D": "rough (class D)",
    "E": "very rough (class E)",
}


class Stretch(Part):
    """Where something lies."""

    start: Annotated[float, Unit("m", "m", 0.0, 50000.0)] = 0.0
    """Where it begins, from the start line."""
    end: Annotated[float, Unit("m", "m", 0.0, 50000.0)] = 50.0
    """Where it ends; before the start if it runs over the start line."""


class Edges(Part):
    """How wide the road is."""

    left: Annotated[float, Unit("m", "m", 0.0, 40.0)] = 5.0
    """From the middle line to the left edge."""
    right: Annotated[float, Unit("m", "m", 0.0, 40.0)] = 5.0
    """From the middle line to the right edge."""


class KerbSize(Part):
    """How large a kerb is."""

    height: Annotated[float, Unit("m", "mm", 1e-3, 0.3)] = 0.04
    """Of its top above the road."""
    width: Annotated[float, Unit("m", "m", 0.2, 10.0)] = 1.0
    """Across, from the edge of the road outward."""


class BumpSize(Part):
    """How large a bump is."""

    height: Annotated[float, Unit("m", "mm", 1e-3, 0.03)] = 0.015
    """Of its top; what is higher is no road."""
    length: Annotated[float, Unit("m", "m", 0.5, 50.0)] = 3.0
    """From foot to foot, along the road; its top lies where the stretch begins."""


_KINDS = {
    "width": "how wide the road is",
    "surface": "the surface",
    "kerb": "a kerb",
    "bump": "a bump across the road",
}


class TrackSheet:
    """One track: its map, on which things are put, and what lies on it."""

    def __init__(self, shop: Shop, key: int, tracks: dict[str, TrackEntry], setup: str) -> None:
        self._shop, self._key, self._setup = shop, key, setup
        self._shelf = shop.notebook.tracks
        document = self._shelf.get(key)
        self._entry: Entry = document.entry
        self._past = [one.revision for one in reversed(self._shelf.history(key)[1:])]
        self._future: list[int] = []
        self._track: Track = self._shelf.read(key)
        self._map = shop.laps.map(key)
        self._stretch = Stretch()
        self._begun = False
        self._side = "left"
        self._corner = self._map.corners[0].corner if self._map.corners else ""
        self._kind = "width"
        self._draw(tracks)
        self._show()

    def _draw(self, tracks: dict[str, TrackEntry]) -> None:
        with ui.element("section").classes("fp-card fp-stack").props('aria-label="Which track"'):
            with ui.element("div").classes("fp-row fp-level"):
                Choice(
                    "Track",
                    {key: f"{one.name}, {one.length / 1000:.2f} km" for key, one in tracks.items()},
                    str(self._key),
                    on_choose=lambda key: open_track(int(key), self._setup),
                )
                ui.html('<label for="fp-track-name">It is called</label>', sanitize=False)
                name = ui.element("input").classes("fp-field").props('id="fp-track-name" maxlength="80"')
                name._props["^value"] = self._track.name
                name.on("change", lambda event: self._rename(str(event.args).strip()), js_handler=VALUE)
                button(
                    "Drive it the other way round",
                    self._reverse,
                    tell="Start line and names stay where they are",
                )
                self._undo = button("Undo", self._go_back, tell="Take the last change of this track back")
                self._redo = button("Redo", self._go_on)
                button("Write a file", self._export, tell="The track file of the command line")
                button("Put it away", self._delete, tell="The notebook's page brings it back")
            self._said = ui.label().props('role="status"')
            self._fault = ui.label().classes("fp-warnbox").props('role="alert"')
            self._fault.set_visibility(False)
        with ui.element("div").classes("fp-tracks-two"):
            with ui.element("section").classes("fp-card fp-stack").props('aria-label="Map"'):
                self._sheet = LapMap(link="tracks", on_choose=self._choose, on_place=self._put_place)
                self._legend = ui.label().classes("fp-small fp-soft")
                with ui.element("div").classes("fp-row fp-level"):
                    self._called = ui.html("", sanitize=False)
                    self._corner_name = ui.element("input").classes("fp-field")
                    self._corner_name.props('id="fp-corner-name" maxlength="40" placeholder="no name yet"')
                    self._corner_name.on(
                        "change", lambda event: self._name_corner(str(event.args)), js_handler=VALUE
                    )
            with ui.element("section").classes("fp-card fp-stack").props('aria-labelledby="fp-put"'):
                ui.html('<h2 id="fp-put">Put something on the road</h2>', sanitize=False)
                ui.label(_PLACING).classes("fp-small fp-soft")
                self._stretch_form = ui.element("div")
                Choice("What", _KINDS, self._kind, on_choose=self._take_kind)
                self._form = ui.element("div").classes("fp-stack")
        with ui.element("section").classes("fp-card").props('aria-labelledby="fp-lies"'):
            ui.html('<h2 id="fp-lies">What lies on it</h2>', sanitize=False)
            self._lies = ui.element("div").classes("fp-stack")
        self._draw_stretch()
        self._take_kind(self._kind)

    # Where, and what

    def _put_place(self, at: float, off: float) -> None:
        """Take a click: first where something begins, then where it ends."""
        place = round(min(at, self._map.track.length), 1)
        self._side = "left" if off > 0.0 else "right"
        if self._begun:
            self._stretch = self._stretch.model_copy(update={"end": place})
        else:
            later = round(place + 50.0, 1)
            if self._map.track.closed:
                later = round(later % self._map.track.length, 1)
            end = min(later, round(self._map.track.length, 1))
            self._stretch = Stretch(start=place, end=end)
        self._begun = not self._begun
        self._said.set_text(
            f"It begins at {self._stretch.start:.0f} m, on the {self._side}. Click where it ends."
            if self._begun
            else f"From {self._stretch.start:.0f} to {self._stretch.end:.0f} m."
        )
        self._draw_stretch()
        self._take_kind(self._kind)

    def _draw_stretch(self) -> None:
        self._stretch_form.clear()
        with self._stretch_form:
            QuantityForm(self._stretch, title="From where to where", on_change=self._take_stretch)
        self._mark()

    def _take_stretch(self, stretch: Stretch) -> None:
        self._stretch, self._begun = stretch, False
        self._mark()

    def _mark(self) -> None:
        found = self._map
        marks = []
        for sign, kind, place in (
            ("square", "begins", self._stretch.start),
            ("triangle", "ends", self._stretch.end),
        ):
            near = min(range(len(found.distance)), key=lambda k: abs(found.distance[k] - place))
            x, y = found.centre.x[near], found.centre.y[near]
            marks.append({"x": x, "y": y, "sign": sign, "kind": kind, "text": f"{kind} at {place:.0f} m"})
        self._sheet.set_marks(marks)

    def _take_kind(self, kind: str) -> None:
        self._kind = kind
        self._form.clear()
        with self._form:
            getattr(self, f"_draw_{kind}")()

    def _draw_width(self) -> None:
        near = min(self._track.road.width, key=lambda one: abs(one.distance - self._stretch.start))
        edges = QuantityForm(Edges(left=near.left, right=near.right), title="Edges", on_change=lambda _: None)
        self._draw_put(
            "Make it so wide there",
            lambda track, at: with_width(
                track, at.start, at.end, left=edges.value.left, right=edges.value.right
            ),
        )

    def _draw_surface(self) -> None:
        chosen = {"class": "C"}
        Choice("Surface", _CLASSES, "C", on_choose=lambda key: chosen.update({"class": key}))
        self._draw_put(
            "Lay it there",
            lambda track, at: with_surface(track, at.start, at.end, road_class=chosen["class"]),
        )

    def _draw_kerb(self) -> None:
        chosen = {"side": self._side, "kind": KERB_KINDS[0]}
        with ui.element("div").classes("fp-row"):
            Choice(
                "Side",
                {"left": "left", "right": "right"},
                self._side,
                on_choose=lambda key: chosen.update({"side": key}),
            )
            Choice(
                "Shape",
                {one: one.replace("-", " ") for one in KERB_KINDS},
                chosen["kind"],
                on_choose=lambda key: chosen.update({"kind": key}),
            )
        size = QuantityForm(KerbSize(), title="Kerb", on_change=lambda _: None)
        self._draw_put(
            "Lay the kerb there",
            lambda track, at: with_kerb(
                track,
                at.start,
                at.end,
                side="left" if chosen["side"] == "left" else "right",
                kind=chosen["kind"],
                height=size.value.height,
                width=size.value.width,
            ),
        )

    def _draw_bump(self) -> None:
        size = QuantityForm(BumpSize(), title="Bump", on_change=lambda _: None)
        self._draw_put(
            "Put its top where the stretch begins",
            lambda track, at: with_bump(track, at.start, height=size.value.height, length=size.value.length),
        )

    def _draw_put(self, text: str, change: Callable[[Track, Stretch], Track]) -> None:
        async def put() -> None:
            at = self._stretch
            await self._change(
                lambda: change(self._track, at), f"From {at.start:.0f} m on it is as you said."
            )

        with ui.element("div").classes("fp-row"):
            button(text, put, main=True)

    # Changes, each of which can be undone

    async def _change(self, make: Callable[[], Track], said: str) -> None:
        try:
            changed = await asyncio.to_thread(make)
            before = self._entry.revision
            self._entry = self._shelf.change(self._key, changed, revision=before, by=BY)
        except FourpatchError as error:
            self._refuse(error)
            return
        self._past.append(before)
        self._future.clear()
        self._read_again(said)

    def _refuse(self, error: Exception) -> None:
        self._fault.set_text(capital(fault_text(error)))
        self._fault.set_visibility(True)

    def _step(self, come_from: list[int], go_to: list[int], said: str) -> None:
        if not come_from:
            return
        now = self._entry.revision
        then = self._shelf.get(self._key, come_from[-1])
        try:
            self._entry = self._shelf.change(
                self._key, then.written, revision=now, name=then.entry.name, by=BY
            )
        except FourpatchError as error:
            self._refuse(error)
            return
        come_from.pop()
        go_to.append(now)
        self._read_again(said)

    def _go_back(self) -> None:
        self._step(self._past, self._future, "The last change is taken back.")

    def _go_on(self) -> None:
        self._step(self._future, self._past, "It is there again.")

    async def _reverse(self) -> None:
        await self._change(lambda: reversed_direction(self._track), "It is driven the other way round now.")

    def _rename(self, name: str) -> None:
        before = self._entry.revision
        try:
            self._entry = self._shelf.rename(self._key, name, revision=before, by=BY)
        except FourpatchError as error:
            self._refuse(error)
            return
        self._past.append(before)
        self._read_again("The track has its new name.")

    async def _name_corner(self, name: str) -> None:
        number = int(self._corner or 0)

        def named() -> Track:
            layout = lay_out(self._track)
            return with_corner_name(self._track, find_corners(layout), number, name, length=layout.length)

        if number:
            await self._change(
                named, f"Corner {number} is called {name.strip()}." if name.strip() else "No name."
            )

    def _export(self) -> None:
        ui.download.from_url(f"/api/tracks/{self._key}/file")

    def _delete(self) -> None:
        self._shelf.delete(self._key, by=BY)
        ui.navigate.to(f"/notebook?{urlencode({'gone': f'track {self._key}'})}")

    def _read_again(self, said: str) -> None:
        self._fault.set_visibility(False)
        self._track = self._shelf.read(self._key)
        self._map = self._shop.laps.map(self._key)
        self._said.set_text(said)
        self._show()
        self._mark()

    # What is shown

    def _show(self) -> None:
        self._sheet.set_track(self._map)
        self._undo.set_enabled(bool(self._past))
        self._redo.set_enabled(bool(self._future))
        track = self._map.track
        note = self._track.note
        self._legend.set_text(
            f"{track.length:.0f} m, {track.corners} corners, driven as the arrow at the start line says. "
            f"Kerbs are dashed, rough surfaces hatched. {note}"
        )
        self._show_corner()
        self._show_lies()

    async def _choose(self, corner: str) -> None:
        self._corner = corner
        self._sheet.choose(corner)
        self._show_corner()

    def _show_corner(self) -> None:
        found = next((one for one in self._map.corners if one.corner == self._corner), None)
        text = (
            f"Corner {found.corner}, {found.direction}, {found.radius:.0f} m, is called"
            if found
            else "No corner is chosen; a name:"
        )
        self._called.set_content(f'<label for="fp-corner-name">{escape(text)}</label>')
        self._corner_name._props["value"] = found.name if found else ""
        self._corner_name.update()

    def _show_lies(self) -> None:
        road, found = self._track.road, self._map
        self._lies.clear()
        with self._lies:
            with ui.element("div").classes("fp-lies"):
                plain_table(
                    ("From", "Surface"),
                    [(f"{one.start:.0f} m", _surface_text(one.surface)) for one in found.surfaces],
                    caption="Surface, each up to the next",
                )
                plain_table(
                    ("At", "Left edge", "Right edge"),
                    [
                        (f"{one.distance:.0f} m", f"{one.left:.1f} m", f"{one.right:.1f} m")
                        for one in road.width
                    ],
                    caption="From the middle line to the edges; even between two places",
                )
            if not road.kerbs:
                ui.label("There is no kerb and no bump on it.").classes("fp-small fp-soft")
                return
            with ui.element("details").props("open" if len(road.kerbs) < _MOST_OPEN else ""):
                with ui.element("summary"):
                    plain(f"Kerbs and bumps: {len(road.kerbs)}")
                with ui.element("ul").classes("fp-lies fp-bare"):
                    for place in range(len(road.kerbs)):
                        self._draw_kerb_row(place)

    def _draw_kerb_row(self, place: int) -> None:
        one = self._map.kerbs[place]
        what, shape = "Bump" if self._track.road.kerbs[place].offset < 0.0 else "Kerb", one.shape
        with ui.element("li").classes("fp-row fp-small"):
            button("Take out", partial(self._take_out, place), tell=f"Take {what.lower()} {one.kerb} out")
            ui.label(
                f"{what} {one.kerb}: {one.side}, {shape.replace('-', ' ')}, {1000.0 * one.height:.0f} mm "
                f"high, {one.start:.0f} to {one.end:.0f} m"
            )

    async def _take_out(self, place: int) -> None:
        kerbs = self._track.road.kerbs
        one = kerbs[place]
        pair = [
            k
            for k, other in enumerate(kerbs)
            if one.offset < 0.0 and other.offset < 0.0 and other.start == one.start
        ]
        await self._change(lambda: without_kerbs(self._track, pair or [place]), "It is taken out.")


def _surface_text(surface: str) -> str:
    return _CLASSES.get(surface.removeprefix("class "), surface)
