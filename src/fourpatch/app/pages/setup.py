"""The set-up: A and B held side by side, and everything B has been."""

from html import escape
from urllib.parse import urlencode

from fastapi import Request
from nicegui import Client, ui

from fourpatch.app.answers.setup import AdjusterRow, side_by_side
from fourpatch.app.frame import frame, name_anew
from fourpatch.app.parts.button import button
from fourpatch.app.parts.file_button import FileButton, GivenFile
from fourpatch.app.parts.plain import plain
from fourpatch.app.parts.setup_panel import SetupPanel
from fourpatch.app.parts.sheet_buttons import sheet_buttons
from fourpatch.app.parts.surviving import surviving
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.app.words import (
    capital,
    moment_text,
    physical_text,
    setup_names,
    signed,
    true_minus,
    where_text,
)
from fourpatch.car.paths import parameter
from fourpatch.car.scale_words import standing_at
from fourpatch.notebook.entries import Version

_HISTORY = (
    '<h2 id="fp-history">What B has been</h2><p class="fp-small fp-soft">Every change is kept, the latest '
    "first. Going back makes a new version; nothing is lost.</p>"
)

MOST_SHOWN = 60
"""Versions that are listed; older ones stay in the notebook."""


def draw(shop: Shop, client: Client, request: Request) -> None:
    """Draw the page."""
    desk = shop.desk(request.query_params)
    with frame("/setup", title="Set-up", shop=shop, desk=desk):
        SetupPage(shop, desk, client)


class SetupPage:
    """The page's parts."""

    def __init__(self, shop: Shop, desk: Desk, client: Client) -> None:
        self._shop, self._desk, self._client = shop, desk, client
        self._only_changed = False
        with ui.element("div").classes("fp-bench"):
            self._panel = SetupPanel(shop, desk)
            with ui.element("div").classes("fp-stack"):
                self._draw_names()
                with ui.element("section").classes("fp-card").props('aria-labelledby="fp-both"'):
                    self._draw_choice_of_a()
                    self._both = ui.element("div").classes("fp-scroll")
                with ui.element("section").classes("fp-card").props('aria-labelledby="fp-history"'):
                    ui.html(_HISTORY, sanitize=False)
                    self._history = ui.element("div").classes("fp-scroll")
        desk.changed.append(self._draw_both)
        self._panel.on_kept(self._draw_history)
        desk.seated.append(self._draw_history)
        with self._both, surviving("A beside B"):
            self._draw_both()
        with self._history, surviving("What B has been"):
            self._draw_history()

    # Names and files

    def _draw_names(self) -> None:
        desk = self._desk
        with ui.element("section").classes("fp-card fp-stack").props('aria-label="Name and note of B"'):
            with ui.element("div").classes("fp-row"):
                ui.html('<label for="fp-name">B is called</label>', sanitize=False)
                name = ui.element("input").classes("fp-field").props('id="fp-name" maxlength="80"')
                name._props["^value"] = desk.b.name  # a start only: nothing writes over what is typed
                name.on("change", lambda event: self._rename(str(event.args)), js_handler=_VALUE)
                button(
                    "Copy as a new set-up", self._branch, tell="Go on with a copy; this one stays as it is"
                )
                button("Write a file", self._export, tell="The set-up file of the command line (TOML)")
                button(
                    "Share", self._share, tell="Car, set-up and nothing else as one file; drop it on a page"
                )
                sheet_buttons(f"/api/setups/{desk.setup_id}/sheet", f"against={desk.a_version}")
                FileButton(
                    "Read a file",
                    self._import,
                    tell="A set-up file of the command line; it becomes a new set-up",
                    accept=".toml",
                )
                button("Delete", self._delete, tell="Put it away; the notebook's page brings it back")
            ui.html('<label for="fp-note">Note</label>', sanitize=False)
            self._note = note = ui.element("textarea").classes("fp-field").props('id="fp-note" rows="2"')
            note._props["value"] = desk.b.note
            note.on("change", lambda event: self._annotate(str(event.args)), js_handler=_VALUE)

    def _rename(self, name: str) -> None:
        self._change(name=name.strip(), reason="renamed")

    def _annotate(self, note: str) -> None:
        self._change(note=note, reason="note")

    def _change(self, *, reason: str, name: str | None = None, note: str | None = None) -> None:
        self._panel.keep_now()
        desk = self._desk
        version = self._shop.notebook.setups.change(
            desk.setup_id, head=desk.head, name=name, note=note, reason=reason, by=desk.window
        )
        desk.became(version.id, name=version.name, note=version.note)
        self._panel.say_kept()
        name_anew(self._client, self._shop, desk)
        self._note._props["value"] = version.note
        self._draw_history()

    def _branch(self) -> None:
        self._panel.keep_now()
        desk = self._desk
        version = self._shop.notebook.setups.branch(
            desk.head, name=f"{desk.b.name}, copy"[:80], reason="copied", by=desk.window
        )
        _open(version.setup_id, desk.a_version)

    def _share(self) -> None:
        self._panel.keep_now()
        ui.download.from_url(f"/api/setups/{self._desk.setup_id}/share")

    def _export(self) -> None:
        self._panel.keep_now()
        ui.download.from_url(f"/api/setups/{self._desk.setup_id}/file")

    def _import(self, files: list[GivenFile]) -> None:
        desk = self._desk
        version = self._shop.import_setup(desk.car_id, files[0].name, files[0].content, by=desk.window)
        _open(version.setup_id, desk.a_version)

    def _delete(self) -> None:
        self._panel.keep_now()
        self._shop.notebook.setups.delete(self._desk.setup_id, by=self._desk.window)
        ui.navigate.to("/setup")

    # A beside B

    def _draw_choice_of_a(self) -> None:
        desk = self._desk
        ui.html('<h2 id="fp-both">A beside B</h2>', sanitize=False)
        with ui.element("div").classes("fp-row"):
            ui.html('<label for="fp-a">A is</label>', sanitize=False)
            choice = ui.element("select").classes("fp-select").props('id="fp-a"')
            with choice:
                listed = self._shop.notebook.setups.listed(desk.car_id)
                names = setup_names(listed)
                for entry in listed:
                    _option(entry.head.id, f"{names[entry.id]}, as it is", entry.head.id == desk.a_version)
                known = {one.head.id for one in listed}
                if desk.a_version not in known:
                    version = self._shop.notebook.setups.version(desk.a_version)
                    _option(version.id, f"{version.name}, {moment_text(version.made)}", True)
            choice.on("change", lambda event: _open(desk.setup_id, int(event.args)), js_handler=_VALUE)
            with ui.element("label").classes("fp-small"):
                box = ui.element("input").props('type="checkbox"')
                box.on(
                    "change",
                    lambda event: self._filter(bool(event.args)),
                    js_handler="(e) => emit(e.target.checked)",
                )
                ui.html("only what differs", tag="span", sanitize=False)

    def _filter(self, only_changed: bool) -> None:
        self._only_changed = only_changed
        self._draw_both()

    def _draw_both(self) -> None:
        desk = self._desk
        rows = side_by_side(desk.car, desk.a, desk.b)
        shown = [row for row in rows if row.steps or not self._only_changed]
        self._both.clear()
        with self._both:
            if not shown:
                ui.label("A and B are the same. Turn something at the left.").classes("fp-soft")
                return
            ui.html(
                '<table class="fp-table"><thead><tr><th scope="col">Adjuster</th>'
                '<th scope="col" class="fp-num">A</th><th scope="col" class="fp-num">B</th>'
                '<th scope="col" class="fp-num">Steps</th>'
                '<th scope="col">What that is</th></tr></thead><tbody>'
                f"{''.join(self._both_row(row, rows, k) for k, row in enumerate(shown))}</tbody></table>",
                sanitize=False,
            )

    def _both_row(self, row: AdjusterRow, rows: list[AdjusterRow], place: int) -> str:
        unit = parameter(self._desk.car, row.target).unit
        a, b = (physical_text(unit, one.value) for one in (row.a, row.b))
        what = " ".join(a) if not row.steps else f"{a[0]} → {' '.join(b)}"
        changed = (
            f' class="fp-changed" title="{escape(row.more_means)}"'
            if row.steps
            else f' title="{escape(row.more_means)}"'
        )
        return (
            f'<tr{changed}><th scope="row">{escape(capital(row.name))}</th>'
            f'<td class="fp-num">{true_minus(f"{row.a.step:g}")}</td>'
            f'<td class="fp-num">{true_minus(escape(standing_at(row.b.step, row.unit)))}</td>'
            f'<td class="fp-num">{signed(row.steps, 0) if row.steps else ""}</td><td>{what}</td></tr>'
        )

    # History

    def _draw_history(self) -> None:
        desk = self._desk
        versions = self._shop.notebook.setups.history(desk.setup_id)
        self._history.clear()
        with self._history, ui.element("table").classes("fp-table"):
            with ui.element("thead"), ui.element("tr"):
                for head in ("When", "What changed", "Where", ""):
                    with ui.element("th").props('scope="col"'):
                        ui.html(head or '<span class="fp-hidden">Do</span>', tag="span", sanitize=False)
            with ui.element("tbody"):
                for version in versions[:MOST_SHOWN]:
                    self._draw_version(version)

    def _draw_version(self, version: Version) -> None:
        desk = self._desk
        with ui.element("tr"):
            for text in (
                moment_text(version.made),
                version.reason or "–",
                where_text(version.made_by, desk.window),
            ):
                with ui.element("td"):
                    ui.label(text)
            with ui.element("td"), ui.element("div").classes("fp-row"):
                if version.id == desk.head:
                    ui.label("B now").classes("fp-chip")
                else:
                    button("Back to this", lambda: self._go_back(version), tell="Make B as it was then")
                if version.id == desk.a_version:
                    ui.label("A").classes("fp-chip")
                else:
                    button("Hold as A", lambda: _open(desk.setup_id, version.id), tell="Compare B with this")

    def _go_back(self, version: Version) -> None:
        self._panel.keep_now()
        desk = self._desk
        self._shop.notebook.setups.go_back(
            desk.setup_id,
            to=version.id,
            head=desk.head,
            reason=f"back to {moment_text(version.made)}",
            by=desk.window,
        )
        _open(desk.setup_id, desk.a_version)


_VALUE = "(e) => emit(e.target.value)"


def _open(setup_id: int, a_version: int) -> None:
    ui.navigate.to(f"/setup?{urlencode({'setup': setup_id, 'a': a_version})}")


def _option(value: int, text: str, selected: bool) -> None:
    option = ui.element("option").props(f'value="{value}"')
    if selected:
        option._props["selected"] = True
    with option:
        plain(text)
