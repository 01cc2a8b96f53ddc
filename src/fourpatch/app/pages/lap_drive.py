"""The part of the lap's page that drives: one lap after practice, and laps that differ."""

from collections.abc import Awaitable, Callable, Sequence
from typing import Any

from nicegui import ui

from fourpatch.app.answers.lap import DrivenAnswer, ScatterAnswer
from fourpatch.app.jobs import Job
from fourpatch.app.lap_words import (
    DRIVEN_CORNER_COLUMNS,
    KERB_COLUMNS,
    SCATTER_COLUMNS,
    WHEEL_COLUMNS,
    driven_corner_rows,
    driven_facts,
    kerb_rows,
    lap_marks,
    scatter_facts,
    scatter_rows,
    wheel_rows,
)
from fourpatch.app.laps import DRIVEN, SCATTER
from fourpatch.app.pages.lap_style import StylePanel
from fourpatch.app.parts.button import button
from fourpatch.app.parts.job_bar import JobBar
from fourpatch.app.parts.quantity_form import QuantityForm
from fourpatch.app.parts.row_table import RowTable
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.car.setup import Setup
from fourpatch.errors import FourpatchError
from fourpatch.events.driver_style import DriverScatter

LAPS = 20
"""Laps with scatter that are driven."""

_EMPTY = {
    DRIVEN: "Not driven yet. A driver with the style below searches the pace at which this car stays on the "
    "road and in hand, then practises corner by corner; it takes some tens of seconds and you can leave the "
    "page meanwhile.",
    SCATTER: "Not driven yet. The same driver brakes a little earlier or later each lap, misjudges a corner "
    "slightly, and his hands are not quite steady: how repeatable is the car?",
}


class DrivePanel:
    """Two pieces of long work, each for A and for B, and what came of them."""

    def __init__(
        self,
        shop: Shop,
        desk: Desk,
        *,
        track: int,
        style: str,
        show_marks: Callable[[Sequence[dict[str, Any]]], Any],
        on_choose: Callable[[str], Awaitable[None]],
    ) -> None:
        """Draw the panel and find again what is running.

        Parameters
        ----------
        style : id of the driver's style to begin with; empty for the usual one.
        show_marks : puts marks of a driven lap on the map.
        on_choose : told the corner that was chosen in a table here.
        """
        self._shop, self._desk, self._track = shop, desk, track
        self._show_marks, self._on_choose = show_marks, on_choose
        self._scatter = DriverScatter()
        self._bars: dict[str, JobBar] = {}
        self._places: dict[str, ui.element] = {}
        self._tables: list[RowTable] = []
        self._corner = ""
        with ui.element("section").classes("fp-card fp-stack").props('aria-label="Driven lap"'):
            ui.html("Have it driven", tag="h2", sanitize=True)
            ui.label(
                "All degrees of freedom free, bumps and kerbs under the wheels, a driver who follows the "
                "line. Slower than the lap above by what a driver and bumps cost. After an update the first "
                "drive has an engine of its own to prepare, about a minute; the strip at the top says so."
            ).classes("fp-small fp-soft")
            self._draw_work(DRIVEN, "Drive a lap", self._drive)
            self._style = StylePanel(shop, desk, wanted=style, on_change=lambda _: self._look())
        with ui.element("section").classes("fp-card fp-stack").props('aria-label="Laps that differ"'):
            ui.html(f"{LAPS} laps of a driver who is never twice alike", tag="h2", sanitize=True)
            self._draw_work(SCATTER, f"Drive {LAPS} laps", self._drive_laps)
            with ui.element("details"):
                ui.html("How far apart his laps are", tag="summary", sanitize=True)
                QuantityForm(self._scatter, title="Driver scatter", on_change=self._take_scatter)
        desk.changed.append(self._look)
        self._look()

    def take_track(self, track: int) -> None:
        """Show what is known of another track."""
        self._track = track
        self._look()

    def choose(self, corner: str) -> None:
        """Mark a corner in the tables."""
        self._corner = corner
        for table in self._tables:
            table.choose(corner)

    # Layout

    def _draw_work(self, kind: str, text: str, start: Callable[[Setup], Job]) -> None:
        with ui.element("div").classes("fp-row"):
            button(
                f"{text} with B",
                lambda: self._begin(kind, start, self._desk.b),
                tell="Drive with the set-up in hand",
                main=True,
            )
            button(
                f"{text} with A",
                lambda: self._begin(kind, start, self._desk.a),
                tell="Drive with the reference, to compare",
            )
            self._bars[kind] = JobBar(on_end=lambda _: self._look())
        with ui.element("div").classes("fp-stack") as self._places[kind]:
            pass

    # Work

    def _drive(self, setup: Setup) -> Job:
        return self._shop.laps.drive(self._desk.car, setup, self._track, self._style.style)

    def _drive_laps(self, setup: Setup) -> Job:
        return self._shop.laps.scatter(
            self._desk.car, setup, self._track, self._style.style, self._scatter, laps=LAPS
        )

    def _key(self, kind: str, setup: Setup) -> str:
        laps, car = self._shop.laps, self._desk.car
        if kind == DRIVEN:
            return laps.drive_key(car, setup, self._track, self._style.style)
        return laps.scatter_key(car, setup, self._track, self._style.style, self._scatter, laps=LAPS)

    def _begin(self, kind: str, start: Callable[[Setup], Job], setup: Setup) -> None:
        try:
            job = start(setup)
        except FourpatchError as error:
            self._say(kind, str(error))
            return
        if job.over:
            self._look()
        else:
            self._bars[kind].follow(job)

    def _take_scatter(self, scatter: DriverScatter) -> None:
        self._scatter = scatter
        self._look()

    # What came of it

    def _look(self) -> None:
        """Show what is known of A and B as they stand, or else of the last that was driven here."""
        self._tables.clear()
        for kind in (DRIVEN, SCATTER):
            found = {name: self._job(kind, setup) for name, setup in self._setups().items()}
            known = {name: job for name, job in found.items() if job is not None}
            last = self._shop.laps.latest(kind, self._desk.car, self._track)
            older = ""
            if last is not None and not known:
                known, older = {"Driven": last}, last.about
            for job in known.values():
                if not job.over:
                    self._bars[kind].follow(job)
            self._places[kind].clear()
            with self._places[kind]:
                self._draw_known(kind, known, older)
        self.choose(self._corner)

    def _setups(self) -> dict[str, Setup]:
        desk = self._desk
        same = dict(desk.a.values) == dict(desk.b.values)
        return {"This set-up": desk.b} if same else {"A": desk.a, "B": desk.b}

    def _job(self, kind: str, setup: Setup) -> Job | None:
        return self._shop.jobs.of(kind, self._key(kind, setup))

    def _say(self, kind: str, text: str) -> None:
        with self._places[kind]:
            ui.label(text).classes("fp-warnbox").props('role="alert"')

    def _draw_known(self, kind: str, known: dict[str, Job], older: str) -> None:
        results = {name: job.result for name, job in known.items() if job.result is not None}
        for name, job in known.items():
            if job.error:
                ui.label(f"{name}: {job.error}").classes("fp-warnbox").props('role="alert"')
            elif job.state == "cancelled" and job.result is None:
                ui.label(f"{name}: stopped before there was anything to show.").classes("fp-small")
        if not results:
            if not known:
                ui.label(_EMPTY[kind]).classes("fp-small")
            return
        if older:
            ui.label(f"Of another set-up or driver than in hand: {older}.").classes("fp-small fp-warnbox")
        for name, result in results.items():
            if result.stopped:
                ui.label(f"{name}: stopped; this is what was done by then.").classes("fp-small fp-warnbox")
        if kind == DRIVEN:
            self._draw_driven(results)
        else:
            self._draw_scatter(results)

    def _draw_driven(self, results: dict[str, DrivenAnswer]) -> None:
        names = [{"label": name, "unit": "", "say": ""} for name in results]
        facts = RowTable(caption="Driven laps", columns=[{"label": "", "unit": "", "say": ""}, *names])
        facts.show(driven_facts({name: one.lap for name, one in results.items()}))
        for name, one in results.items():
            ui.html(f"<b>{name}.</b> {one.meaning}", sanitize=True)
        name, shown = list(results.items())[-1]
        self._show_marks(lap_marks(shown.lap, shown.line.x, shown.line.y))
        with ui.element("div").classes("fp-stack"):
            corners = RowTable(
                caption=f"{name}: corners as driven, and against the quasi-steady lap on the same line",
                columns=DRIVEN_CORNER_COLUMNS,
                shown=True,
                on_choose=self._on_choose,
            )
            corners.show(driven_corner_rows(shown.lap))
            self._tables.append(corners)
            wheels = RowTable(caption=f"{name}: what the wheels did", columns=WHEEL_COLUMNS, shown=True)
            wheels.show(wheel_rows(shown.lap, shown.heat))
            if rows := kerb_rows(shown.lap):
                kerbs = RowTable(caption=f"{name}: kerbs struck", columns=KERB_COLUMNS, shown=True)
                kerbs.show(rows)
            else:
                ui.label("No wheel is on a kerb along this line.").classes("fp-small")

    def _draw_scatter(self, results: dict[str, ScatterAnswer]) -> None:
        names = [{"label": name, "unit": "", "say": ""} for name in results]
        facts = RowTable(caption="Laps that differ", columns=[{"label": "", "unit": "", "say": ""}, *names])
        facts.show(scatter_facts({name: one.laps for name, one in results.items()}))
        for name, one in results.items():
            ui.html(f"<b>{name}.</b> {one.driven}: {one.meaning}", sanitize=True)
        with ui.element("div").classes("fp-lap-two"):
            for name, one in results.items():
                table = RowTable(
                    caption=f"{name}: spread by corner",
                    columns=SCATTER_COLUMNS,
                    shown=True,
                    on_choose=self._on_choose,
                )
                table.show(scatter_rows(one.laps))
                self._tables.append(table)
