"""The logbook: race meetings and test days, run by run, and what was found out."""

from collections.abc import Callable
from html import escape
from urllib.parse import urlencode

from fastapi import Request
from nicegui import Client, events, ui

from fourpatch.app.answers.logbook import example_of, new_meeting, with_run, with_words
from fourpatch.app.fault import fault_text
from fourpatch.app.frame import frame
from fourpatch.app.parts.button import button
from fourpatch.app.parts.notice import notice
from fourpatch.app.parts.plain import plain
from fourpatch.app.parts.plain_table import plain_table
from fourpatch.app.parts.sheet_buttons import sheet_buttons
from fourpatch.app.parts.surviving import surviving
from fourpatch.app.parts.text_form import TextForm, WordField
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.errors import FourpatchError
from fourpatch.notebook.entries import Entry
from fourpatch.notebook.kinds import Written
from fourpatch.picture.meeting_words import (
    RUN_HEADS,
    conditions,
    meeting_effects,
    meeting_line,
    run_rows,
    run_sentences,
)
from fourpatch.recording.demo_meeting import demo_meeting
from fourpatch.recording.meeting import Meeting, RunNotes, SessionNotes

_LEAD = (
    "Note what you drive, run by run; nothing is compulsory. Lap times, a word of the driver and what you "
    "tried are enough for the next time you come here."
)
_NONE_YET = "No meeting yet. Make one below, or look at an invented one."
_PHASES = {"": "whole corner", "braking": "braking", "entry": "entry", "mid": "mid", "exit": "exit"}
_OUTCOMES = {"": "not said", "worked": "worked", "no change": "no change", "worse": "worse"}
_FOR_B = "b"


def draw(shop: Shop, client: Client, request: Request) -> None:
    """Draw the page."""
    desk = shop.desk(request.query_params)
    with frame("/logbook", title="Logbook", shop=shop, desk=desk):
        LogbookPage(shop, desk, wanted=request.query_params.get("meeting", ""))


class LogbookPage:
    """The page's parts."""

    def __init__(self, shop: Shop, desk: Desk, *, wanted: str) -> None:
        self._notebook, self._desk = shop.notebook, desk
        self._lines = self._notebook.logbook.timeline()
        known = {str(one.id) for one in self._lines}
        first = str(self._lines[0].id) if self._lines else ""
        self._open = int(wanted if wanted in known else first) if self._lines else None
        with ui.element("div").classes("fp-page fp-stack"):
            ui.label(_LEAD).classes("fp-soft")
            with ui.element("div").classes("fp-log"):
                with ui.element("div").classes("fp-stack"):
                    self._draw_search()
                    self._draw_timeline()
                    self._draw_new()
                with ui.element("div").classes("fp-stack"):
                    with surviving("The meeting"):
                        self._draw_meeting()

    # What there is

    def _draw_search(self) -> None:
        with _card("Search"):
            ui.html('<label for="fp-search">Search everything</label>', sanitize=False)
            field = ui.element("input").classes("fp-field").props('id="fp-search" type="search"')
            field._props["placeholder"] = "words that must all be there"
            self._found = ui.element("div").props('role="status"')

            def search(event: events.GenericEventArguments) -> None:
                self._show_found(str(event.args)[:300])

            field.on("input", search, js_handler="(event) => emit(event.target.value)", throttle=0.2)

    def _show_found(self, words: str) -> None:
        found = self._notebook.logbook.search(words)
        self._found.clear()
        with self._found:
            if words.strip() and not found:
                ui.label("Nothing holds all of these words.").classes("fp-small fp-soft")
            if not found:
                return
            with ui.element("ul"):
                for one in found:
                    with ui.element("li").classes("fp-small"):
                        plain(f"{one.kind}: ")
                        if one.kind == "meeting":
                            self._link(one.id, one.name)
                        elif one.kind == "set-up":
                            ui.html(f'<a href="/setup?setup={one.id}">{escape(one.name)}</a>', sanitize=False)
                        else:
                            plain(one.name)
                        for line in one.lines:
                            plain(line, "p")

    def _draw_timeline(self) -> None:
        with _card("Timeline"):
            ui.html("Timeline", tag="h2", sanitize=True)
            if not self._lines:
                ui.label(_NONE_YET).classes("fp-small")
                button("Show an invented day", self._example, tell="Keeps an invented meeting, to look at")
                return
            with ui.element("ul"):
                for one in self._lines:
                    item = ui.element("li").classes("fp-small")
                    if one.id == self._open:
                        item.props('aria-current="true"')
                    with item:
                        self._link(one.id, one.name)
                        plain(", ".join(word for word in (one.date, one.track, one.car) if word), "p")

    def _link(self, id: int, name: str) -> None:
        ui.html(f'<a href="{self._address(id)}">{escape(name)}</a>', tag="span", sanitize=False)

    def _address(self, id: int) -> str:
        return f"/logbook?{urlencode({**self._desk.query(), 'meeting': id})}"

    def _go(self, entry: Entry) -> None:
        ui.navigate.to(self._address(entry.id))

    def _draw_new(self) -> None:
        tracks = {"": "not said", **{one.name: one.name for one in self._notebook.tracks.listed()}}
        with _card("New meeting"), ui.element("details").classes("fp-fold"):
            plain("A new meeting", "summary")
            form = TextForm(
                [
                    WordField(key="name", label="Name", example="Spring test"),
                    WordField(key="date", label="First day", kind="day"),
                    WordField(key="track", label="Track", kind="choice", options=tracks),
                    WordField(key="car", label="Car", start=self._desk.car.name),
                    WordField(key="driver", label="Driver"),
                ]
            )
            button("Make it", lambda: self._make(form.values), tell="Keep it in the notebook", main=True)

    def _make(self, told: dict[str, str]) -> None:
        self._do(lambda: self._notebook.meetings.add(new_meeting(told), by=self._desk.window))

    def _example(self) -> None:
        self._do(lambda: self._notebook.meetings.add(demo_meeting(), by=self._desk.window))

    def _do(self, act: Callable[[], Entry]) -> None:
        try:
            self._go(act())
        except FourpatchError as error:
            notice(fault_text(error), warning=True)

    # One meeting

    def _draw_meeting(self) -> None:
        if self._open is None:
            return
        document = self._notebook.meetings.get(self._open)
        meeting = self._notebook.meetings.read(self._open, document.entry.revision)
        with _card("Meeting"):
            plain(meeting.name, "h2")
            for sentence in (meeting_line(meeting), meeting.note):
                if sentence:
                    ui.label(sentence).classes("fp-soft")
            for place, session in enumerate(meeting.sessions, start=1):
                said = [session.name or f"Session {place}", conditions(session), session.note]
                ui.label(": ".join(one for one in said if one))
            rows = run_rows(meeting)
            if rows:
                with ui.element("div").classes("fp-scroll"):
                    plain_table(RUN_HEADS, rows, caption="Runs", numbers=range(4, 7))
            for sentence in run_sentences(meeting):
                ui.label(sentence)
            with ui.element("div").classes("fp-row"):
                sheet_buttons(f"/api/meetings/{self._open}/sheet")
        effects = meeting_effects(meeting)
        if effects:
            with _card("What the laps tell"):
                ui.html("What the laps tell", tag="h2", sanitize=True)
                for sentence in effects:
                    ui.label(sentence)
        self._draw_run_form(meeting, document.entry)
        self._draw_next(meeting, document.entry)
        self._draw_text(document.written, document.entry)

    def _change(self, entry: Entry, content: Callable[[], Meeting | Written]) -> None:
        shelf = self._notebook.meetings
        self._do(lambda: shelf.change(entry.id, content(), revision=entry.revision, by=self._desk.window))

    def _draw_run_form(self, meeting: Meeting, entry: Entry) -> None:
        last = meeting.sessions[-1].name if meeting.sessions else ""
        stood = {_FOR_B: f"as B stands now ({self._desk.b.name})", "": "not noted"}
        with _card("Add a run"), ui.element("details").classes("fp-fold"):
            plain("Add a run", "summary")
            form = TextForm(
                [
                    WordField(key="session", label="Session", start=last, example="Morning"),
                    WordField(key="setup", label="What you call the set-up", example=self._desk.b.name),
                    WordField(
                        key="stood",
                        label="Where the adjusters stood",
                        kind="choice",
                        options=stood,
                        start=_FOR_B,
                    ),
                    WordField(key="tyres", label="Tyres", example="set 1"),
                    WordField(key="tyre_laps", label="Laps they had done", example="12"),
                    WordField(key="fuel", label="Fuel", example=example_of("fuel", RunNotes)),
                    WordField(
                        key="laps",
                        label="Lap times, x at one that does not count",
                        kind="text",
                        example="1:35.41 1:35.18 1:38.0x",
                    ),
                    WordField(key="corner", label="Remark: corner", example="3"),
                    WordField(key="phase", label="Phase", kind="choice", options=_PHASES),
                    WordField(key="text", label="What the driver said", kind="text"),
                    WordField(key="tried", label="What was changed for it, and why", kind="text"),
                    WordField(key="outcome", label="What came of it", kind="choice", options=_OUTCOMES),
                    WordField(key="track_state", label="New session: track", example="dry, green"),
                    *(
                        WordField(
                            key=name, label=f"New session: {label}", example=example_of(name, SessionNotes)
                        )
                        for name, label in (
                            ("air_temperature", "air"),
                            ("track_temperature", "surface"),
                            ("wind_speed", "wind"),
                        )
                    ),
                ]
            )
            button(
                "Add it", lambda: self._add_run(meeting, entry, form.values), tell="Keep the run", main=True
            )

    def _add_run(self, meeting: Meeting, entry: Entry, told: dict[str, str]) -> None:
        setup = self._desk.b if told["stood"] == _FOR_B else None
        self._change(entry, lambda: with_run(meeting, told, setup))

    def _draw_next(self, meeting: Meeting, entry: Entry) -> None:
        earlier = [
            one
            for one in self._notebook.logbook.take_along(track=meeting.track, car=meeting.car)
            if one.meeting.id != entry.id
        ]
        with _card("Next time"):
            ui.html("Next time", tag="h2", sanitize=True)
            form = TextForm(
                [
                    WordField(
                        key="next_time",
                        label="What to begin with next time",
                        kind="text",
                        start=meeting.next_time,
                    )
                ]
            )
            with ui.element("div").classes("fp-row"):
                button(
                    "Keep it",
                    lambda: self._change(
                        entry, lambda: with_words(meeting, next_time=form.values["next_time"])
                    ),
                    tell="Keep what to begin with next time",
                )
            if earlier:
                ui.html("From earlier meetings", tag="h3", sanitize=True)
            for one in earlier:
                with ui.element("div").classes("fp-small"):
                    self._link(one.meeting.id, f"{one.meeting.date} {one.meeting.name}".strip())
                    plain(f" ({one.why})")
                    for line in (one.meeting.next_time, *one.tried):
                        if line:
                            plain(line, "p")

    def _draw_text(self, written: Written, entry: Entry) -> None:
        with _card("The whole text"), ui.element("details").classes("fp-fold"):
            plain("Change anything, as text", "summary")
            text = {"now": written.text}
            ui.html('<label for="fp-day">The meeting as its file says it</label>', sanitize=False)
            field = ui.element("textarea").classes("fp-field fp-laps")
            field.props('id="fp-day" rows="16" spellcheck="false"')
            field._props["value"] = written.text

            def typed(event: events.GenericEventArguments) -> None:
                text["now"] = str(event.args)

            field.on("input", typed, js_handler="(event) => emit(event.target.value)")
            with ui.element("div").classes("fp-row"):
                button(
                    "Keep the text", lambda: self._change(entry, lambda: Written(text=text["now"])), main=True
                )
                button("Write to a file", lambda: ui.download.from_url(f"/api/meetings/{entry.id}/file"))
                button("Put away", lambda: self._put_away(entry), tell="The notebook's page brings it back")

    def _put_away(self, entry: Entry) -> None:
        self._notebook.meetings.delete(entry.id, by=self._desk.window)
        ui.navigate.to(f"/logbook?{urlencode(self._desk.query())}")


def _card(name: str) -> ui.element:
    """Return a named part of the page."""
    return ui.element("section").classes("fp-card fp-stack").props(f'aria-label="{name}"')
