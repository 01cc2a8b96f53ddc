"""The car: every number of it with its origin, what it is, where it came from; and new cars."""

import asyncio
from collections.abc import Mapping
from html import escape
from urllib.parse import urlencode

from fastapi import Request
from nicegui import Client, background_tasks, ui

from fourpatch.app.answers.car import AdjusterScale, CarSheet, Fact, car_facts, car_sheet
from fourpatch.app.answers.car_changes import (
    Rescaled,
    Revision,
    as_typed,
    change_adjuster,
    change_note,
    change_parameters,
    go_back,
    revisions,
)
from fourpatch.app.answers.files import decoded, written_in
from fourpatch.app.answers.new_car import NewCar, keep_car, read_brief
from fourpatch.app.fault import fault_text
from fourpatch.app.fitting import fitting
from fourpatch.app.frame import frame, name_anew
from fourpatch.app.parts.adjuster_form import AdjusterForm
from fourpatch.app.parts.brief_form import BriefForm
from fourpatch.app.parts.button import button
from fourpatch.app.parts.choice import Choice
from fourpatch.app.parts.file_button import FileButton, GivenFile
from fourpatch.app.parts.parameter_form import ParameterForm
from fourpatch.app.parts.plain_table import plain_table
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.app.words import capital, moment_text, shown_text, where_text
from fourpatch.car.adjuster_editing import adjuster_fields
from fourpatch.car.checks import oddities
from fourpatch.car.editing import edited_car
from fourpatch.car.estimate import estimate_car
from fourpatch.car.paths import parameters
from fourpatch.errors import FieldsError, FourpatchError, NotebookConflict, NotebookError
from fourpatch.notebook.entries import Entry
from fourpatch.picture.shown import pretty

_LEAD = (
    "Everything Fourpatch knows of this car, and how surely: ● given, ≈ estimated with its spread, "
    "◆ measured, ○ invented. Put in what you have measured; every page then computes with it."
)
_NEW = (
    "Ten numbers that a driver knows are enough to begin. The rest is estimated from them, marked as such, "
    "and can be replaced value by value."
)
_MOST_TOLD = 3
"""Set-ups that are told one by one after what can be turned was changed."""
_MOST_SHOWN = 30
"""Revisions that are listed; older ones stay in the notebook."""


def draw(shop: Shop, client: Client, request: Request) -> None:
    """Draw the page."""
    try:
        desk = shop.desk(request.query_params)
    except NotebookError as error:
        with frame("/car", title="Car", shop=shop), ui.element("div").classes("fp-page fp-stack"):
            ui.label(str(error)).classes("fp-warnbox")
            NewCars(shop, None, open_=True)
        return
    with frame("/car", title="Car", shop=shop, desk=desk):
        CarPage(shop, desk, client, new="new" in request.query_params)


class CarPage:
    """The page's parts."""

    def __init__(self, shop: Shop, desk: Desk, client: Client, *, new: bool) -> None:
        self._shop, self._desk, self._client = shop, desk, client
        self._entry = shop.notebook.cars.get(desk.car_id).entry
        sheet = car_sheet(desk.car)
        with ui.element("div").classes("fp-page fp-stack"):
            self._draw_head()
            NewCars(shop, desk, open_=new)
            with ui.element("div").classes("fp-car-page"):
                with ui.element("section").classes("fp-card").props('aria-labelledby="fp-numbers"'):
                    ui.html(
                        f'<h2 id="fp-numbers">Its numbers</h2><p class="fp-small fp-soft">{_LEAD}</p>',
                        sanitize=False,
                    )
                    self._form = ParameterForm(sheet, on_look=self._look, on_keep=self._keep)
                with ui.element("div").classes("fp-stack"):
                    with ui.element("section").classes("fp-card").props('aria-labelledby="fp-facts"'):
                        ui.html('<h2 id="fp-facts">What this car is</h2>', sanitize=False)
                        self._facts = ui.element("div")
                    with ui.element("section").classes("fp-card").props('aria-labelledby="fp-revisions"'):
                        ui.html('<h2 id="fp-revisions">What it has been</h2>', sanitize=False)
                        self._revisions = ui.element("div")
            with ui.element("section").classes("fp-card").props('aria-labelledby="fp-adjusters"'):
                ui.html('<h2 id="fp-adjusters">What can be turned on it</h2>', sanitize=False)
                self._adjusters = ui.element("div")
        self._draw_adjusters(sheet)
        background_tasks.create(self._draw_slow(), name="car page", context=self._facts)

    # Name and files

    def _draw_head(self) -> None:
        desk = self._desk
        with ui.element("section").classes("fp-card fp-stack").props('aria-label="Name and files"'):
            with ui.element("div").classes("fp-row"):
                ui.html('<label for="fp-car-name">The car is called</label>', sanitize=False)
                name = ui.element("input").classes("fp-field").props('id="fp-car-name" maxlength="80"')
                name._props["^value"] = desk.car.name  # a start only: nothing writes over what is typed
                name.on("change", lambda event: self._rename(str(event.args)), js_handler=_VALUE)
                if self._entry.demo:
                    ui.label("○ invented for demonstration").classes("fp-chip")
                button("Copy as a new car", self._copy, tell="Go on with a copy; this one stays as it is")
                button("Write a file", self._export, tell="The car file of the command line (TOML)")
                opened = urlencode({"setup": str(desk.setup_id)})
                ui.html(f'<a href="/evidence?{opened}">What you know of the real one</a>', sanitize=False)
                button("Delete", self._delete, tell="Put it away; the notebook's page brings it back")
            ui.html('<label for="fp-car-note">Note</label>', sanitize=False)
            self._note = note = ui.element("textarea").classes("fp-field")
            note.props('id="fp-car-note" rows="2" maxlength="2000"')
            note._props["value"] = desk.car.note
            note.on("change", lambda event: self._annotate(str(event.args)), js_handler=_VALUE)
            self._said = ui.label().classes("fp-small").props('role="status"')

    def _rename(self, name: str) -> None:
        self._entry = self._shop.notebook.cars.rename(
            self._desk.car_id, name.strip(), revision=self._entry.revision, by=self._desk.window
        )
        self._read_again("The car has its new name.")

    def _annotate(self, note: str) -> None:
        self._entry = change_note(
            self._shop.notebook,
            self._desk.car_id,
            note.strip(),
            revision=self._entry.revision,
            by=self._desk.window,
        )
        self._read_again("The note is saved.")

    def _copy(self) -> None:
        cars, desk = self._shop.notebook.cars, self._desk
        name = f"{desk.car.name}, copy"[:80]
        made = keep_car(
            self._shop.notebook,
            cars.get(desk.car_id).written,
            name=name,
            reason=f"copy of {desk.car.name}",
            by=desk.window,
        )
        _open(made)

    def _export(self) -> None:
        ui.download.from_url(f"/api/cars/{self._desk.car_id}/file")

    def _delete(self) -> None:
        self._shop.notebook.cars.delete(self._desk.car_id, by=self._desk.window)
        ui.navigate.to(f"/notebook?{urlencode({'gone': f'car {self._desk.car_id}'})}")

    # Numbers

    async def _look(self, values: dict[str, str]) -> None:
        """Say at once what is wrong or odd about changed values; nothing is kept yet."""
        try:
            changed = await asyncio.to_thread(edited_car, self._desk.car, as_typed(self._desk.car, values))
        except FieldsError as error:
            self._form.tell(error.fields, [])
            return
        self._form.tell({}, oddities(changed))

    async def _keep(self, values: dict[str, str]) -> None:
        desk = self._desk
        try:
            self._entry = await asyncio.to_thread(
                change_parameters,
                self._shop.notebook,
                desk.car_id,
                as_typed(desk.car, values),
                revision=self._entry.revision,
                by=desk.window,
            )
        except FieldsError as error:
            self._form.tell(error.fields, [])
        except NotebookConflict as error:
            stay = "Reload the page to see it; what you typed stays here until then."
            self._form.tell({"": f"{error} {stay}"}, [])
        except FourpatchError as error:
            self._form.tell({"": str(error)}, [])
        else:
            count = len(values)
            self._read_again(f"{count} {'value' if count == 1 else 'values'} saved.")

    def _read_again(self, said: str) -> None:
        """Show the car as the notebook now has it."""
        desk = self._desk
        desk.car = self._shop.notebook.cars.read(desk.car_id)
        newest = self._shop.notebook.setups.get(desk.setup_id).head.id
        desk.b = desk.kept = fitting(desk.car, self._shop.notebook.setups.opened(newest).setup)
        desk.head = newest
        name_anew(self._client, self._shop, desk)
        sheet = car_sheet(desk.car)
        self._note._props["value"] = desk.car.note
        self._note.update()
        self._form.load(sheet)
        self._draw_adjusters(sheet)
        self._said.set_text(said)
        background_tasks.create(self._draw_slow(), name="car page", context=self._facts)

    # What it is, and what it has been

    async def _draw_slow(self) -> None:
        """Draw what takes a moment, beside the page that is there already."""
        desk = self._desk
        if not self._facts.default_slot.children:
            with self._facts:
                ui.label("Computing ...").classes("fp-soft").props('role="status"')
        try:
            facts = await asyncio.to_thread(car_facts, desk.car)
        except Exception as error:  # what it has been can be shown all the same
            facts, fault = [], fault_text(error)
        else:
            fault = ""
        told = await asyncio.to_thread(revisions, self._shop.notebook, desk.car_id)
        if self._facts.is_deleted:
            return
        self._facts.clear()
        with self._facts:
            if fault:
                ui.label(fault).classes("fp-warnbox")
            else:
                ui.html(_facts_html(facts), sanitize=False)
        self._revisions.clear()
        with self._revisions:
            for place, one in enumerate(told[:_MOST_SHOWN]):
                self._draw_revision(one, newest=place == 0)

    def _draw_revision(self, one: Revision, *, newest: bool) -> None:
        with ui.element("div").classes("fp-revision"):
            with ui.element("div").classes("fp-row"):
                ui.label(f"Revision {one.entry.revision}").classes("fp-strong")
                ui.label(
                    f"{moment_text(one.entry.changed)}, {where_text(one.entry.changed_by, self._desk.window)}"
                ).classes("fp-small fp-soft")
                if newest:
                    ui.label("now").classes("fp-chip")
                else:
                    button(
                        "Back to this",
                        lambda: self._go_back(one.entry),
                        tell="Make the car as it was then; a new revision, nothing is lost",
                    )
            for line in one.changes[:6]:
                ui.label(pretty(line)).classes("fp-small")
            if len(one.changes) > 6:
                ui.label(f"and {len(one.changes) - 6} more").classes("fp-small fp-soft")

    def _go_back(self, to: Entry) -> None:
        desk = self._desk
        changed = go_back(self._shop.notebook, desk.car_id, to, revision=self._entry.revision, by=desk.window)
        self._rescaled(f"The car is as it was at revision {to.revision}.", changed)

    def _rescaled(self, said: str, changed: Rescaled) -> None:
        """Show the car with what can be turned on it now, and say what became of its set-ups."""
        self._entry = changed.entry
        carried = f"{changed.setups} set-ups stand where they meant to." if changed.setups else ""
        more = f"So {len(changed.told) - _MOST_TOLD} more." if len(changed.told) > _MOST_TOLD else ""
        self._read_again(" ".join(filter(None, (said, carried, *changed.told[:_MOST_TOLD], more))))

    def _draw_adjusters(self, sheet: CarSheet) -> None:
        self._adjusters.clear()
        with self._adjusters:
            ui.label(
                "Range, step and what a step does are the car's; where each stands is the set-up's matter. A "
                "set-up keeps its meaning when a scale is changed: the value where there is one, else its "
                "share of the way; what a new range does not reach is said."
            ).classes("fp-small fp-soft")
            plain_table(
                (
                    "Adjuster",
                    "System",
                    "Scale",
                    "Car as written at",
                    "From one end to the other",
                    "A higher number",
                ),
                [_adjuster_cells(one) for one in sheet.adjusters],
                caption="Every adjuster of the car",
            )
            ui.html(
                f'<p><a href="/garage?{urlencode({"setup": str(self._desk.setup_id)})}">All of them in one '
                "table, as the garage screen shows them</a></p>",
                sanitize=False,
            )
            with ui.element("div").classes("fp-row fp-fields"):
                names = {str(place): one.name for place, one in enumerate(sheet.adjusters)}
                Choice("Change", {"": "choose ...", **names}, "", on_choose=self._open_adjuster)
                button("Add an adjuster", lambda: self._open_adjuster(_NEW_ONE))
            self._one_adjuster = ui.element("div")

    def _open_adjuster(self, which: str) -> None:
        """Open the form of one adjuster, or of a new one."""
        self._one_adjuster.clear()
        if not which:
            return
        place = None if which == _NEW_ONE else int(which)
        one = None if place is None else self._desk.car.adjusters[place]

        async def keep(fields: Mapping[str, str]) -> None:
            await self._keep_adjuster(form, place, fields)

        async def remove() -> None:
            await self._keep_adjuster(form, place, None)

        with self._one_adjuster:
            form = AdjusterForm(
                adjuster_fields(one) if one else {},
                title=f"Change {one.name}" if one else "A new adjuster",
                paths=[found.path for found in parameters(self._desk.car)],
                on_keep=keep,
                on_remove=remove if one else None,
                on_close=lambda: self._open_adjuster(""),
            )

    async def _keep_adjuster(
        self, form: AdjusterForm, place: int | None, fields: Mapping[str, str] | None
    ) -> None:
        desk = self._desk
        try:
            changed = await asyncio.to_thread(
                change_adjuster,
                self._shop.notebook,
                desk.car_id,
                place,
                fields,
                revision=self._entry.revision,
                by=desk.window,
            )
        except FieldsError as error:
            form.refuse(error.fields)
        except FourpatchError as error:
            form.refuse({"": str(error)})
        else:
            said = "The adjuster is taken out." if fields is None else "The adjuster is saved."
            self._rescaled(said, changed)


class NewCars:
    """A new car: from ten numbers, or from a file."""

    def __init__(self, shop: Shop, desk: Desk | None, *, open_: bool) -> None:
        self._shop, self._desk = shop, desk
        with ui.element("details").classes("fp-card fp-new-car") as place:
            if open_:
                place._props["open"] = True
            with ui.element("summary"):
                ui.html("A new car from ten numbers, or from a file", tag="h2", sanitize=False)
            with ui.element("div").classes("fp-stack"):
                with ui.element("div").classes("fp-row"):
                    FileButton(
                        "Read a car file",
                        self._import,
                        tell="A car file of the command line (TOML), with the CSV files it names",
                        accept=".toml,.csv",
                        several=True,
                    )
                    ui.label(_NEW).classes("fp-small fp-soft")
                self._fault = ui.label().classes("fp-warnbox").props('role="alert"')
                self._fault.set_visibility(False)
                self._form = BriefForm(self._make)

    @property
    def _by(self) -> str:
        return self._desk.window if self._desk else "a new tab"

    async def _make(self, fields: dict[str, str]) -> None:
        try:
            car = await asyncio.to_thread(lambda: estimate_car(read_brief(fields)))
            made = keep_car(self._shop.notebook, car, reason="estimated from ten numbers", by=self._by)
        except FieldsError as error:
            self._form.refuse(error.fields)
        except FourpatchError as error:
            self._form.refuse({"": str(error)})
        else:
            _open(made, path="/garage")

    def _import(self, files: list[GivenFile]) -> None:
        try:
            written = written_in(decoded({one.name: one.content for one in files}))
            made = keep_car(self._shop.notebook, written, reason="as the car is", by=self._by)
        except FourpatchError as error:
            self._fault.set_text(f"The file was not taken.\n\n{error}")
            self._fault.set_visibility(True)
        else:
            _open(made)


_NEW_ONE = "new"
_VALUE = "(e) => emit(e.target.value)"


def _open(made: NewCar, path: str = "/car") -> None:
    ui.navigate.to(f"{path}?{urlencode({'setup': made.setup.setup_id, 'a': made.setup.id})}")


def _facts_html(facts: list[Fact]) -> str:
    """Return what the car is as a table, each line with its meaning below its name."""
    rows = "".join(
        f'<tr><th scope="row">{escape(fact.name)}<span class="fp-fact-say">{escape(fact.meaning)}</span></th>'
        f'<td class="fp-num">{_fact_text(fact)}</td></tr>'
        for fact in facts
    )
    return (
        '<table class="fp-table fp-facts"><caption class="fp-hidden">What follows from its numbers, at rest'
        f"</caption><tbody>{rows}</tbody></table>"
    )


def _fact_text(fact: Fact) -> str:
    unit = "" if fact.unit == "1" else f" {pretty(fact.unit)}"
    texts = {place: escape(shown_text(f"{text}{unit}")) for place, text in fact.texts.items()}
    if "car" in texts:
        return texts["car"]
    return "<br>".join(f'<span class="fp-soft">{place}</span> {text}' for place, text in texts.items())


def _adjuster_cells(one: AdjusterScale) -> list[str]:
    unit = f" {pretty(one.unit)}" if one.unit else ""
    return [
        capital(one.name),
        one.system,
        f"{one.lowest:g} to {one.highest:g}{unit} by {one.step:g}".replace("-", "−"),
        f"{one.baseline:g}".replace("-", "−"),
        f"{pretty(one.from_text)} to {pretty(one.to_text)}".replace("-", "−"),
        one.more_means,
    ]
