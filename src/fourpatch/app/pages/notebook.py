"""The notebook: where everything is kept, what is in it, and how it comes back."""

import asyncio
import contextlib
from collections.abc import Callable
from functools import partial
from html import escape
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from fastapi import Request
from nicegui import Client, ui

from fourpatch.app.answers.files import decoded, written_in
from fourpatch.app.answers.notebook import back_up_now, notebook_state
from fourpatch.app.answers.said import said_with
from fourpatch.app.fault import fault_text
from fourpatch.app.frame import frame, name_anew
from fourpatch.app.parts.button import button
from fourpatch.app.parts.choice import Choice
from fourpatch.app.parts.file_button import FileButton, GivenFile
from fourpatch.app.parts.notice import notice
from fourpatch.app.parts.plain import plain
from fourpatch.app.parts.rename import rename_button
from fourpatch.app.parts.said_list import SaidList
from fourpatch.app.parts.surviving import surviving
from fourpatch.app.parts.zip_button import ZipButton
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.app.words import capital, moment_text, setup_names, where_text
from fourpatch.car.car import Car
from fourpatch.errors import FourpatchError, NotebookError
from fourpatch.notebook.entries import Complaint, Entry, SetupEntry
from fourpatch.notebook.shelf import Shelf
from fourpatch.picture.chosen_units import CHOICES, chosen_now, keep, named
from fourpatch.picture.shown import pretty

_LEAD = (
    "Everything you make is kept in one file on this machine, as you make it. To bring it to another "
    "machine, write all of it to a zip here and read it there; nothing is ever written over."
)
_UNITS = (
    "In which everything is shown, here, by commands and on paper. What you type may be in any unit; files, "
    "JSON and the steps of your own adjusters stay as they are. Pages that are open take it over when they "
    "are loaded again."
)
_EMPTY = (
    "No car is left, and the other pages need one. Restore one under Put away, or make a new car; this page "
    "stays until there is one."
)

_UNREADABLE = "Part of the notebook cannot be read; all else is here.\n\n"
_BACKUPS = (
    "One is made on every day that the app is used, and before an update; those of the last days, weeks and "
    "months stay. If you go back to one, what is here now is kept beside them, and every open page is loaded "
    "again."
)


def draw(shop: Shop, client: Client, request: Request) -> None:
    """Draw the page."""
    desk: Desk | None = None
    said = ""
    try:
        desk = shop.desk(request.query_params)
    except NotebookError:  # no car is left: they come back from here
        said = _EMPTY
    except FourpatchError as error:  # what is open cannot be read: something else can be opened from here
        said = fault_text(error)
    with frame("/notebook", title="Notebook", shop=shop, desk=desk):
        NotebookPage(shop, desk, client, said=said, gone=request.query_params.get("gone", ""))


class NotebookPage:
    """The page's parts."""

    def __init__(self, shop: Shop, desk: Desk | None, client: Client, *, said: str, gone: str) -> None:
        self._shop, self._notebook, self._desk, self._client = shop, shop.notebook, desk, client
        self._drawn: list[tuple[str, Any, Callable[[], None]]] = []
        with ui.element("div").classes("fp-page fp-stack"):
            self._draw_gone(gone)
            if said:
                ui.label(said).classes("fp-warnbox").props('role="status"')
            ui.label(_LEAD)
            with ui.element("div").classes("fp-car-page"):
                with ui.element("div").classes("fp-stack"):
                    self._section("Cars and their set-ups", self._draw_cars)
                    self._section("What drivers said, and what was tried", self._draw_complaints)
                    self._section("Tracks", self._draw_tracks)
                    self._section("Driver styles", self._draw_styles)
                with ui.element("div").classes("fp-stack"):
                    self._section("Units", self._draw_units)
                    self._section("Where it is", self._draw_place)
                    self._section("Put away", self._draw_deleted)

    @property
    def _by(self) -> str:
        return self._desk.window if self._desk else "a new tab"

    def _section(self, title: str, draw: Callable[[], None]) -> None:
        name = f"fp-{title.split()[0].lower()}"
        with ui.element("section").classes("fp-card").props(f'aria-labelledby="{name}"'):
            ui.html(f'<h2 id="{name}">{title}</h2>', sanitize=False)
            place = ui.element("div").classes("fp-stack fp-close")
        self._drawn.append((title, place, draw))
        with place, surviving(title):
            draw()

    def _draw_again(self) -> None:
        for title, place, draw in self._drawn:
            place.clear()
            with place, surviving(title):
                draw()
        name_anew(self._client, self._shop, self._desk)

    def _draw_gone(self, gone: str) -> None:
        kind, _, number = gone.partition(" ")
        if kind != "car" or not number.isdigit():
            return
        try:
            entry = self._notebook.cars.get(int(number)).entry
        except NotebookError:
            return
        if entry.deleted is None:
            return
        with ui.element("div").classes("fp-card fp-row").props('role="status"') as strip:
            ui.label(f'"{entry.name}" is put away, with its set-ups.')

            def undo() -> None:
                self._notebook.cars.restore(entry.id)
                strip.set_visibility(False)
                self._draw_again()

            button("Undo", undo, tell="Bring it back")

    # Units

    def _draw_units(self) -> None:
        ui.label(_UNITS).classes("fp-small fp-soft")
        now = chosen_now()
        with ui.element("div").classes("fp-row fp-fields"):
            for what, units in CHOICES.items():
                Choice(
                    capital(what),
                    {unit: pretty(unit) for unit in units},
                    now[units[0]],
                    on_choose=partial(self._choose_units, units[0]),
                )
        with ui.element("div").classes("fp-row"):
            button("All SI", lambda: self._keep_units(named(["SI"])))
            button("All imperial", lambda: self._keep_units(named(["imperial"])), tell="mph, lb, lbf/in, psi")

    def _choose_units(self, usual: str, unit: str) -> None:
        self._keep_units({**chosen_now(), usual: unit})

    def _keep_units(self, chosen: dict[str, str]) -> None:
        try:
            keep(chosen, self._notebook.path)
        except FourpatchError as error:
            notice(fault_text(error), warning=True)
        self._draw_again()

    # Where it is

    def _draw_place(self) -> None:
        state = notebook_state(self._notebook)
        ui.label(state.path).classes("fp-path")
        held = {
            "car": state.cars,
            "set-up": state.setups,
            "track": state.tracks,
            "style": state.styles,
            "complaint": state.complaints,
        }
        holds = ", ".join(f"{count} {what}{'' if count == 1 else 's'}" for what, count in held.items())
        ui.label(f"{state.size / 1e6:.2f} MB: {holds}.").classes("fp-small fp-soft")
        unreadable = ui.label().classes("fp-warnbox").props('role="alert"')
        unreadable.set_visibility(False)

        async def look() -> None:
            faults = await asyncio.to_thread(self._notebook.unreadable)
            unreadable.set_text(_UNREADABLE + "\n\n".join(faults))
            unreadable.set_visibility(bool(faults))

        ui.timer(0.0, look, once=True)  # it reads every car and track: the page does not wait for that
        if state.without_backup:
            ui.label(state.without_backup).classes("fp-warnbox").props('role="alert"')
        with ui.element("div").classes("fp-row"):
            button("Back up now", self._back_up, tell="A copy beside it; old ones are thinned by age")
            button(
                "Write all to a zip",
                lambda: ui.download.from_url("/api/notebook/zip"),
                tell="Everything as files of the command line, with all history",
            )
            ZipButton(
                "Read a zip",
                self._brought,
                address="/api/notebook/zip",
                tell="Brings in what is not here yet; nothing is written over",
            )
        count = len(state.backups)
        ui.html(f"<h3>{count} backup{'' if count == 1 else 's'}</h3>", sanitize=False)
        ui.label(_BACKUPS).classes("fp-small fp-soft")
        for one in state.backups:
            with ui.element("div").classes("fp-shelf-row"):
                when = moment_text(one.made)
                ui.label(f"{when}, {one.size / 1e6:.2f} MB").classes("fp-shelf-name fp-small").props(
                    f'title="{escape(one.path)}"'
                )
                button("Go back to it", partial(self._go_back, one.path), tell=f"Be as it was {when}")

    async def _go_back(self, backup: str) -> None:
        await asyncio.to_thread(self._shop.restore, Path(backup))
        for client in list(Client.instances.values()):  # what they show is of the notebook as it was
            client.run_javascript("location.href = '/notebook'")

    async def _back_up(self) -> None:
        await asyncio.to_thread(back_up_now, self._notebook)
        self._draw_again()

    def _brought(self, told: dict[str, list[str]]) -> None:
        new, second = told["added"], told["second"]
        text = f"{len(new)} new: {', '.join(new[:8])}." if new else "Nothing new."
        if second:
            text += (
                f" {len(second)} under another name, for here is another of theirs: {', '.join(second[:8])}."
            )
        text += f" {len(told['known'])} were here already."
        notice(text)
        self._draw_again()

    # Cars and set-ups

    def _draw_cars(self) -> None:
        cars = self._notebook.cars.listed()
        if not cars:
            ui.label("No car is left. Bring one back under “Put away”, or make one.").classes("fp-soft")
        for car in cars:
            with ui.element("div").classes("fp-shelf-row"):
                self._draw_name(car)
                self._draw_rename(self._notebook.cars, car)
                button(
                    "Write a file",
                    partial(_download, f"/api/cars/{car.id}/file"),
                    tell=f"{car.name} as a file",
                )
                button(
                    "Delete", partial(self._put_away, self._notebook.cars, car), tell=f"Put {car.name} away"
                )
            setups = self._notebook.setups.listed(car.id)
            names = setup_names(setups)
            for one in setups:
                self._draw_setup(one, names[one.id])
        with ui.element("div").classes("fp-row"):
            ui.html('<a class="fp-button" href="/car?new">A new car</a>', sanitize=False)

    def _draw_setup(self, one: SetupEntry, name: str) -> None:
        query = urlencode({"setup": one.id, "a": one.head.id})
        versions = f"{one.versions} {'version' if one.versions == 1 else 'versions'}"
        with ui.element("div").classes("fp-shelf-row fp-shelf-below"):
            with ui.element("span").classes("fp-shelf-name"):
                with ui.element("a").props(f'href="/setup?{query}"'):
                    plain(name)
            ui.label(f"{versions}, {moment_text(one.head.made)}").classes("fp-small fp-soft")
            rename_button(one.head.name, partial(self._rename_setup, one))
            button(
                "Delete",
                lambda: self._done(lambda: self._notebook.setups.delete(one.id, by=self._by)),
                tell=f"Put {name} away",
            )

    def _rename_setup(self, one: SetupEntry, name: str) -> None:
        change = self._notebook.setups.change
        self._done(lambda: change(one.id, head=one.head.id, name=name, reason="renamed", by=self._by))

    def _draw_rename(self, shelf: Shelf[Any], entry: Entry) -> None:
        def rename(name: str) -> None:
            self._done(lambda: shelf.rename(entry.id, name, revision=entry.revision, by=self._by))

        rename_button(entry.name, rename)

    def _draw_name(self, entry: Entry) -> None:
        with ui.element("span").classes("fp-shelf-name"):
            setups = self._notebook.setups.listed(entry.id) if entry.kind == "car" else []
            if setups:
                with ui.element("a").props(f'href="/car?setup={setups[0].id}"'):
                    plain(entry.name)
            else:
                plain(entry.name)
        if entry.demo:
            ui.label("○ invented").classes("fp-chip").props('title="Came with the notebook; nothing real"')
        ui.label(f"revision {entry.revision}, {moment_text(entry.changed)}").classes("fp-small fp-soft")

    def _put_away(self, shelf: Shelf[Any], entry: Entry) -> None:
        self._done(lambda: shelf.delete(entry.id, by=self._by))

    def _done(self, action: Callable[[], object]) -> None:
        try:
            action()
        finally:  # what could not be done is said over the page, which shows what is
            self._draw_again()

    # Tracks and styles

    def _draw_tracks(self) -> None:
        self._draw_shelf(self._notebook.tracks, "tracks", "A track file (TOML), with the CSV files it names")

    def _draw_styles(self) -> None:
        self._draw_shelf(self._notebook.styles, "styles", "A style file (TOML); it goes by the file's name")

    def _draw_shelf(self, shelf: Shelf[Any], plural: str, tell: str) -> None:
        for entry in shelf.listed():
            with ui.element("div").classes("fp-shelf-row"):
                self._draw_name(entry)
                self._draw_rename(shelf, entry)
                button(
                    "Write a file",
                    partial(_download, f"/api/{plural}/{entry.id}/file"),
                    tell=f"{entry.name} as a file",
                )
                button("Delete", partial(self._put_away, shelf, entry), tell=f"Put {entry.name} away")
        fault = ui.label().classes("fp-warnbox").props('role="alert"')
        fault.set_visibility(False)

        def take(files: list[GivenFile]) -> None:
            try:
                written = written_in(decoded({one.name: one.content for one in files}))
                head = next(one.name for one in files if one.name.lower().endswith(".toml"))
                shelf.add(written, name="" if shelf.kind.has_name else head[:-5][:80], by=self._by)
            except FourpatchError as error:
                fault.set_text(f"The file was not taken.\n\n{error}")
                fault.set_visibility(True)
            else:
                self._draw_again()

        FileButton(f"Read a {shelf.kind.name} file", take, tell=tell, accept=".toml,.csv", several=True)

    # Complaints

    def _draw_complaints(self) -> None:
        said = [
            (car, complaint)
            for car in self._notebook.cars.listed()
            for complaint in self._notebook.complaints.listed(car.id)
        ]
        if not said:
            ui.html(
                'Nothing yet. Say what the car does on the page <a href="/cure">Complaint</a>; what is tried '
                "and what came of it is kept here.",
                tag="p",
                sanitize=False,
            ).classes("fp-soft")
        drawn = SaidList(self._notebook, by=self._by, on_change=self._draw_again)
        for entry, complaint in said:
            of = f"{entry.name}: {said_with(self._notebook, complaint)}"
            drawn.draw(complaint, of=of, car=self._readable(entry))

    def _readable(self, entry: Entry) -> Car | None:
        with contextlib.suppress(FourpatchError):
            return self._notebook.cars.read(entry.id)
        return None

    # What was put away

    def _when(self, one: Entry | SetupEntry | Complaint) -> str:
        """Return when and where something was put away."""
        if not one.deleted:
            return ""
        return f"{moment_text(one.deleted)}, {where_text(one.deleted_by or '', self._by)}"

    def _draw_deleted(self) -> None:
        notebook = self._notebook
        gone: list[tuple[str, str, Callable[[], object]]] = []
        for shelf in (
            notebook.cars,
            notebook.tracks,
            notebook.styles,
            notebook.meetings,
            notebook.lessons,
        ):
            for entry in shelf.deleted():
                gone.append(
                    (f"{entry.kind}: {entry.name}", self._when(entry), partial(shelf.restore, entry.id))
                )
        for car in notebook.cars.listed():
            for one in notebook.setups.deleted(car.id):
                name = f"set-up: {one.head.name} of {car.name}"
                gone.append((name, self._when(one), partial(notebook.setups.restore, one.id)))
            for said in notebook.complaints.deleted(car.id):
                name = f"complaint: “{said.text}” of {car.name}"
                gone.append((name, self._when(said), partial(notebook.complaints.restore, said.id)))
        if not gone:
            ui.label("Nothing. What you delete can be brought back from here.").classes("fp-small fp-soft")
        for name, when, restore in gone:
            with ui.element("div").classes("fp-shelf-row"):
                ui.label(name).classes("fp-shelf-name")
                ui.label(when).classes("fp-small fp-soft")
                button("Restore", partial(self._done, restore), tell=f"Bring back {name}")


def _download(address: str) -> None:
    ui.download.from_url(address)
