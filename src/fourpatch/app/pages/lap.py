"""Track and lap: where B gains and loses against A, live; then the lap as a driver drives it."""

from html import escape
from typing import Any

import numpy as np
from fastapi import Request
from nicegui import Client, ui

from fourpatch.app.answers.lap import HastyLap, LapAnswer, PhasesAnswer
from fourpatch.app.answers.tracks import TrackEntry, TrackMap
from fourpatch.app.fault import fault_text
from fourpatch.app.frame import CAUTION, frame
from fourpatch.app.lap_words import (
    CORNER_COLUMNS,
    DETAIL_COLUMNS,
    PHASE_COLUMNS,
    balance_scale,
    corner_detail,
    corner_rows,
    corner_texts,
    gap_text,
    lap_head,
    phase_rows,
    speed_scale,
    won_text,
)
from fourpatch.app.live import LiveLoop, Stage
from fourpatch.app.pages.lap_drive import DrivePanel
from fourpatch.app.parts.chart import Chart
from fourpatch.app.parts.lap_map import LapMap
from fourpatch.app.parts.plain import plain
from fourpatch.app.parts.row_table import RowTable
from fourpatch.app.parts.setup_panel import SetupPanel
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.app.words import capital, shown_text
from fourpatch.picture.shown import lap_time_text

_LINK = "lap"
_LAP_REST, _PHASES_REST = 0.6, 1.0  # of the hand, before the whole lap and the phases of its corners [s]
_QUESTION = (
    "The lap at the limit of grip, with A and with B: turn a slider and see where time is won or lost. "
    "Choose a corner on the map or in the list. Below, have it driven."
)
_NO_TRACK = (
    "There is no track that could be lapped. Bring one back or read a track file on the page "
    '<a href="/notebook">Notebook</a>; the other pages need none.'
)
_A = {"label": "A", "ink": "a", "width": 1.25, "dash": [5, 4], "digits": 1}
_B = {"label": "B", "ink": "b", "width": 2, "digits": 1}


def draw(shop: Shop, client: Client, request: Request) -> None:
    """Draw the page."""
    desk = shop.desk(request.query_params)
    with frame("/lap", title="Track and lap", shop=shop, desk=desk):
        open_ = request.query_params
        tracks, faults = shop.laps.tracks()
        for name, text in faults.items():
            told = ui.label(f'The track "{name}" cannot be read and is left out. {text}')
            told.classes("fp-warnbox").props('role="alert"')
        if tracks:
            LapPage(shop, desk, client, tracks, wanted=open_.get("track", ""), style=open_.get("style", ""))
            return
        with ui.element("div").classes("fp-bench"):
            SetupPanel(shop, desk)
            ui.html(_NO_TRACK, tag="section", sanitize=False).classes("fp-card")


class LapPage:
    """The page's parts and what moves them."""

    def __init__(
        self, shop: Shop, desk: Desk, client: Client, tracks: list[TrackEntry], *, wanted: str, style: str
    ) -> None:
        """Draw the page.

        Parameters
        ----------
        tracks : to choose from, one at least.
        wanted : id of the track that is asked for; the first if it is not there.
        style : id of the driver's style to begin with.
        """
        self._shop, self._desk = shop, desk
        self._tracks = {str(one.id): one for one in tracks}
        self._track = int(wanted if wanted in self._tracks else next(iter(self._tracks)))
        self._style = style
        self._drawn: int | None = None
        self._map: TrackMap = shop.laps.map(self._track)
        self._color = "speed"
        self._corner = self._map.corners[0].corner if self._map.corners else ""
        self._answer: LapAnswer | None = None
        self._phases: PhasesAnswer | None = None
        self._draw()
        self._loop = LiveLoop(
            [
                Stage(self._compute_hasty, self._show_hasty),
                Stage(self._compute_lap, self._show_lap, rest=_LAP_REST),
            ],
            refuse=self._refuse,
        )
        # A second or two of work must not keep the lap waiting.
        self._after = LiveLoop(
            [Stage(self._compute_phases, self._show_phases, rest=_PHASES_REST)], refuse=self._refuse
        )
        for loop in (self._loop, self._after):
            desk.changed.append(loop.wake)
            client.on_delete(loop.stop)
        self._loop.start()

    # Layout

    def _draw(self) -> None:
        with ui.element("div").classes("fp-bench"):
            SetupPanel(self._shop, self._desk)
            with ui.element("div").classes("fp-stack fp-lap-side"):
                self._draw_head()
                with ui.element("div").classes("fp-lap-two"):
                    with ui.element("div").classes("fp-stack"):
                        with ui.element("section").classes("fp-card").props('aria-label="Map"'):
                            self._sheet = LapMap(link=_LINK, on_choose=self._choose)
                        self._draw_charts()
                    with (
                        ui.element("section").classes("fp-card fp-stack").props('aria-label="Chosen corner"')
                    ):
                        self._corner_title = ui.html("", tag="h2", sanitize=True)
                        self._detail = RowTable(caption="The chosen corner", columns=DETAIL_COLUMNS)
                        self._phase_table = RowTable(
                            caption="Its phases with B, and against A", columns=PHASE_COLUMNS, shown=True
                        )
                        ui.html("Where the lap is held back", tag="h3", sanitize=True)
                        self._meaning = ui.label().classes("fp-small")
                with ui.element("section").classes("fp-card").props('aria-label="Corners"'):
                    ui.html("Corners", tag="h2", sanitize=True)
                    self._corners = RowTable(
                        caption="How the lap with B passes each corner; beside a number the change against A",
                        columns=CORNER_COLUMNS,
                        on_choose=self._choose,
                    )
                    self._noted = ui.label(
                        "Speeds and times: quasi-steady, all of the grip. Stability: the car taken through "
                        "each corner on the rig at 97 % of it."
                    ).classes("fp-small fp-soft")
                self._drive = DrivePanel(
                    self._shop,
                    self._desk,
                    track=self._track,
                    style=self._style,
                    show_marks=self._sheet.set_marks,
                    on_choose=self._choose,
                )
                ui.label(CAUTION).classes("fp-small fp-soft")

    def _draw_head(self) -> None:
        with ui.element("section").classes("fp-card fp-stack").props('aria-label="Lap time"'):
            ui.label(_QUESTION)
            with ui.element("div").classes("fp-row fp-lap-choice"):
                _select(
                    "Track",
                    {key: f"{one.name}, {one.length / 1000:.2f} km" for key, one in self._tracks.items()},
                    str(self._track),
                    self._take_track,
                )
                _select(
                    "Colour the line by",
                    {"speed": "speed", "balance": "which axle runs out first"},
                    self._color,
                    self._take_color,
                )
                ui.html(
                    '<a class="fp-small fp-noprint" href="/tracks" onclick="this.search = location.search">'
                    "Make a track of your own, or change this one</a>",
                    sanitize=False,
                )
            with ui.element("div").classes("fp-lap-times"):
                self._time_a = _time("A", "Lap time with the reference set-up, quasi-steady")
                self._time_b = _time("B", "Lap time with the set-up in hand, quasi-steady")
                self._gap = ui.label("Computing the lap ...").props('role="status"').classes("fp-lap-gap")
            self._sectors = ui.label().classes("fp-small fp-soft")
            self._fault = ui.label().classes("fp-warnbox").props('role="alert"')
            self._fault.set_visibility(False)

    def _draw_charts(self) -> None:
        x = {"label": "distance along the centre line [m]", "short": "at", "unit": "m", "digits": 0}
        with ui.element("section").classes("fp-card").props('aria-label="Along the lap"'):
            self._speed = Chart(title="Speed", unit="km/h", series=[_A, _B], x=x, link=_LINK, height=190)
            self._behind = Chart(
                title="B behind A",
                unit="s, falling: B is quicker there",
                series=[{**_B, "label": "B behind A", "digits": 3}],
                x=x,
                link=_LINK,
                height=130,
            )

    # What moves

    def _compute_hasty(self) -> tuple[int, HastyLap | None, int]:
        desk, track = self._desk, self._track
        sequence = desk.sequence
        if track != self._drawn or not desk.differing():
            return track, None, sequence  # the lap itself is as quick, or there is nothing yet to move
        return track, self._shop.laps.hasty(desk.car, desk.a, desk.b, track), sequence

    async def _show_hasty(self, found: tuple[int, HastyLap | None, int]) -> None:
        _, lap, sequence = found
        if lap is None:
            return
        self._time_b.set_text(lap_time_text(lap.time_a + float(lap.gained[-1])))
        self._gap.set_text(f"B is about {gap_text(float(lap.gained[-1]))} ...")
        stretches = self._stretches(float(lap.station[-1]))
        self._behind.show(lap.station, [lap.gained], phases=stretches)
        speeds = [3.6 * lap.speed_a, 3.6 * lap.speed_b]
        await self._speed.show(lap.station, speeds, phases=stretches, sequence=sequence)

    def _compute_lap(self) -> tuple[TrackMap, int, LapAnswer, int]:
        desk, track = self._desk, self._track
        sequence, a, b = desk.sequence, desk.a, desk.b
        laps = self._shop.laps
        return laps.map(track), track, laps.lap(desk.car, a, b, track), sequence

    async def _show_lap(self, found: tuple[TrackMap, int, LapAnswer, int]) -> None:
        self._map, track, answer, sequence = found
        self._answer = answer
        self._fault.set_visibility(False)
        head = lap_head(answer)
        self._time_a.set_text(head["a"])
        self._time_b.set_text(head["b"])
        same = not self._desk.differing()
        told = "A and B are the same set-up: turn a slider." if same else f"B is {head['gap']}."
        self._gap.set_text(f"{told} {won_text(answer)}")
        self._sectors.set_text(f"Sectors with B: {head['sectors']}.")
        self._meaning.set_text(shown_text(capital(answer.b.meaning)))
        if self._drawn is None:
            self._after.start()
        if track != self._drawn:
            self._drawn, self._phases = track, None
            self._sheet.set_track(self._map)
            self._drive.take_track(track)
            await self._choose(self._map.corners[0].corner if self._map.corners else "")
        self._show_line()
        self._show_tables()
        station = np.asarray(answer.station)
        speeds = [3.6 * np.asarray(lap.speed) for lap in (answer.a, answer.b)]
        stretches = self._stretches(float(station[-1]))
        self._behind.show(station, [answer.gained], phases=stretches)
        await self._speed.show(station, speeds, phases=stretches, sequence=sequence)
        self._after.wake()

    def _compute_phases(self) -> tuple[int, PhasesAnswer]:
        desk, track = self._desk, self._track
        return track, self._shop.laps.phases(desk.car, desk.a, desk.b, track)

    async def _show_phases(self, found: tuple[int, PhasesAnswer]) -> None:
        track, phases = found
        if track == self._drawn:
            self._phases = phases
            self._show_tables()

    def _show_line(self) -> None:
        answer = self._answer
        if answer is None:
            return
        lap = answer.b
        if self._color == "speed":
            values, scale = 3.6 * np.asarray(lap.speed), speed_scale(answer.a)
        else:
            values, scale = np.array([one or 0.0 for one in lap.balance]), balance_scale()
        x, y, station = (np.asarray(one) for one in (answer.line.x, answer.line.y, answer.station))
        self._sheet.set_line(x, y, station, values, scale=scale)
        self._sheet.set_texts(corner_texts(lap))

    def _show_tables(self) -> None:
        if self._answer is None:
            return
        self._corners.show(corner_rows(self._map, self._answer, self._phases))
        self._show_corner()

    def _show_corner(self) -> None:
        if self._answer is not None and self._corner:
            self._detail.show(corner_detail(self._corner, self._answer))
            self._phase_table.show(phase_rows(self._corner, self._phases))

    def _stretches(self, length: float) -> list[dict[str, Any]]:
        """Return corners as the charts shade them: every other stretch is one."""
        stretches: list[dict[str, Any]] = []
        begun = 0.0
        for one in self._map.corners:
            end = one.end if one.end >= one.start else length
            stretches.append({"name": "", "start": begun, "end": max(one.start, begun)})
            stretches.append({"name": one.corner, "start": max(one.start, begun), "end": end})
            begun = end
        return stretches

    async def _choose(self, corner: str) -> None:
        self._corner = corner
        self._corners.choose(corner)
        self._sheet.choose(corner)
        self._drive.choose(corner)
        self._corner_title.set_content(self._title_of(corner))
        self._show_corner()

    def _title_of(self, corner: str) -> str:
        for one in self._map.corners:
            if one.corner == corner:
                called = f", {escape(one.name)}" if one.name else ""
                return f"Corner {corner}{called}, {one.direction}, radius {one.radius:.0f} m"
        return "No corner on this track"

    def _take_track(self, key: str) -> None:
        if key in self._tracks:
            self._track = int(key)
            self._gap.set_text("Computing the lap ...")
            ui.run_javascript(
                "const u = new URL(location); u.searchParams.set('track', "
                f"'{self._track}'); history.replaceState(null, '', u)"
            )
            self._loop.wake()

    def _take_color(self, color: str) -> None:
        self._color = "balance" if color == "balance" else "speed"
        self._show_line()

    def _refuse(self, error: Exception) -> None:
        self._fault.set_text(fault_text(error))
        self._fault.set_visibility(True)
        self._gap.set_text("No lap with this set-up; what is shown is the last one that could be.")
        for chart in (self._speed, self._behind):
            chart.mark_stale("Not of the set-up in hand")


def _select(label: str, options: dict[str, str], chosen: str, take: Any) -> None:
    """Draw a native choice with its label."""
    with ui.element("label").classes("fp-small fp-lap-chosen"):
        plain(label)
        drawn = ui.element("select").classes("fp-select").props(f'aria-label="{label}"')
        with drawn:
            for key, text in options.items():
                option = ui.element("option").props(f'value="{key}"' + (" selected" if key == chosen else ""))
                with option:
                    plain(text)
        drawn.on("change", lambda event: take(str(event.args)), js_handler="(e) => emit(e.target.value)")


def _time(name: str, say: str) -> ui.label:
    with ui.element("div").classes(f"fp-lap-time fp-lap-time-{name.lower()}").props(f'title="{say}"'):
        ui.label(name).classes("fp-small")
        return ui.label("…").classes("fp-num").props(f'aria-label="Lap time {name}"')
