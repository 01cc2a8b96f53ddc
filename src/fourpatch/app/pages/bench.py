"""The bench: every adjuster, the moving car, and who runs out of grip first in each phase."""

import asyncio
from collections.abc import Mapping
from typing import Any

from nicegui import Client, background_tasks, ui

from fourpatch.analysis.workout import Worked, Workout
from fourpatch.app.answers.bench import BenchAnswer, bench_answer, corner_note
from fourpatch.app.frame import CAUTION, frame
from fourpatch.app.live import LiveLoop
from fourpatch.app.parts.chart import Chart
from fourpatch.app.parts.phase_table import PhaseTable
from fourpatch.app.parts.setup_panel import SetupPanel
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.app.words import bench_cells
from fourpatch.car.setup import apply_setup
from fourpatch.events.corner import Corner

_CORNERS = ("slow corner", "medium corner", "fast corner")
_GROUP = "bench"


def bench_page(shop: Shop) -> None:
    """Add the page."""

    @ui.page("/")
    def bench(client: Client, car: str = "") -> None:
        desk = shop.desk(car)
        with frame("/", title="Bench", query=desk.query()):
            Bench(shop, desk, client)


class Bench:
    """The page's parts and what moves them."""

    def __init__(self, shop: Shop, desk: Desk, client: Client) -> None:
        self._shop, self._desk = shop, desk
        self._worked: Worked | None = None
        self._event, self._part = "medium corner", "entry"
        self._loop = LiveLoop(compute=self._compute, show=self._show, refuse=self._refuse)
        self._draw()
        desk.changed.append(self._loop.wake)
        client.on_delete(self._loop.stop)
        background_tasks.create(self._begin(), name="bench")

    # Layout

    def _draw(self) -> None:
        desk = self._desk
        with ui.element("div").classes("fp-bench"):
            self._panel = SetupPanel(desk)
            with ui.element("div").classes("fp-bench-right"):
                with ui.element("section").classes("fp-card").props('aria-label="Tyre loads in time"'):
                    self._loads = Chart(
                        title="Load on each tyre",
                        unit="N",
                        series=load_series(),
                        x={"label": "time [s]", "short": "t", "unit": "s"},
                        group=_GROUP,
                        height=260,
                    )
                with ui.element("section").classes("fp-card").props('aria-label="Balance and bumps"'):
                    self._table_place = ui.element("div")
                self._said = ui.label("Preparing the events of this car ...").classes(
                    "fp-small fp-soft fp-wide"
                )
                ui.label(CAUTION).classes("fp-small fp-soft fp-wide")

    def _draw_table(self, workout: Workout) -> None:
        columns = [
            {"key": name, "label": name.removesuffix(" corner").capitalize(), "note": corner_note(event)}
            for name in _CORNERS
            if isinstance(event := workout.events[name], Corner)
        ]
        with self._table_place:
            self._table = PhaseTable(
                columns=columns,
                groups=TABLE_GROUPS,
                caption="Which axle runs out of grip first, by phase and corner speed, and what bumps cost",
                choice=f"{self._part}|{self._event}",
                on_choose=self._choose,
            )

    # What moves

    async def _begin(self) -> None:
        workout = await asyncio.to_thread(self._shop.workout, self._desk.car, self._desk.a)
        self._draw_table(workout)
        self._loop.start()
        self._loop.wake()

    def _compute(self) -> tuple[Worked, BenchAnswer, int]:
        desk = self._desk
        sequence, a, b = desk.sequence, desk.a, desk.b
        worked = self._shop.workout(desk.car, a).measure(apply_setup(desk.car, b))
        return worked, bench_answer(worked), sequence

    async def _show(self, found: tuple[Worked, BenchAnswer, int]) -> None:
        self._worked, answer, sequence = found
        self._table.show(bench_cells(answer), sequence=sequence)
        await self._show_event(sequence)

    async def _show_event(self, sequence: int = 0) -> None:
        worked, event = self._worked, self._event
        if worked is None or event not in worked.outcomes:
            return
        a, b = worked.reference[event].history, worked.outcomes[event].history
        lines = [one.tyre_load[:, corner] for one in (a, b) for corner in range(4)]
        phases = [{"name": p.name, "start": p.start, "end": p.end} for p in b.phases]
        await self._loads.show(b.time, lines, phases=phases, sequence=sequence)

    def _refuse(self, error: Exception) -> None:
        self._loads.mark_stale(str(error))
        self._said.set_text(str(error))

    async def _choose(self, row: str, column: str) -> None:
        self._event = column if column in _CORNERS and row not in ("rough road", "kerb") else row
        self._part = row
        await self._show_event()


TABLE_GROUPS: list[dict[str, Any]] = [
    {
        "key": "corners",
        "rows": [
            {"key": "braking", "label": "Braking", "say": "Full brakes, straight"},
            {"key": "entry", "label": "Entry", "say": "Brake released while the steering is wound on"},
            {"key": "mid", "label": "Mid", "say": "Steering held, speed about steady"},
            {"key": "exit", "label": "Exit", "say": "Throttle taken up while the steering is unwound"},
        ],
    },
    {
        "key": "bumps",
        "label": "Grip lost",
        "heads": ["Front", "Rear", "Body"],
        "rows": [
            {"key": "rough road", "label": "Rough road", "say": "A class B road of ISO 8608, straight"},
            {"key": "kerb", "label": "Kerb", "say": "A ramped kerb under the left wheels"},
        ],
    },
]


def load_series() -> list[Mapping[str, Any]]:
    """Return the pens of four tyres, A thin and dashed, B thick."""
    return [
        {"label": f"{corner} {which}", "ink": corner.lower(), **style}
        for which, style in (("A", {"width": 1, "dash": [4, 4]}), ("B", {"width": 2}))
        for corner in ("FL", "FR", "RL", "RR")
    ]
