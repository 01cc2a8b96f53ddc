"""The bench: every adjuster, the moving car, and who runs out of grip first in each phase."""

from collections.abc import Sequence

from fastapi import Request
from nicegui import Client, ui

from fourpatch.analysis.workout import Worked, Workout
from fourpatch.app.answers.bench import BenchAnswer, bench_answer, corner_notes
from fourpatch.app.answers.ready import ready_answer
from fourpatch.app.fault import fault_text
from fourpatch.app.frame import CAUTION, frame
from fourpatch.app.live import LiveLoop, Stage
from fourpatch.app.parts.car_view import CarView, body_kind, both_runs, car_shape, named_spans
from fourpatch.app.parts.chart import Chart
from fourpatch.app.parts.pens import tyre_pens
from fourpatch.app.parts.phase_table import BUMP_EVENTS, PhaseTable, bench_columns, bench_groups
from fourpatch.app.parts.ready_table import draw_ready
from fourpatch.app.parts.setup_panel import SetupPanel
from fourpatch.app.shop import FIRST_EVENT, Shop
from fourpatch.app.state import Desk
from fourpatch.app.step_hint import StepHint
from fourpatch.app.words import bench_cells, driven_end, step_text
from fourpatch.car.setup import Setup, apply_setup

_LINK = "bench"
_TABLE_TITLE = (
    "<b>Which end runs out of grip first</b> <span class='fp-soft'>by how many points (hundredths of an "
    "axle's grip); below: what B, in hand, moves against A. Both drive alike, whichever is A. Choose a cell "
    "to see it happen.</span>"
)


def draw(shop: Shop, client: Client, request: Request) -> None:
    """Draw the page."""
    desk = shop.desk(request.query_params)
    with frame("/", title="Bench", shop=shop, desk=desk):
        Bench(shop, desk, client)


class Bench:
    """The page's parts and what moves them."""

    def __init__(self, shop: Shop, desk: Desk, client: Client) -> None:
        self._shop, self._desk = shop, desk
        self._answer: BenchAnswer | None = None
        self._table: PhaseTable | None = None
        self._event = FIRST_EVENT
        self._hint = StepHint(desk, self._step_text)
        self._shape = car_shape(apply_setup(desk.car, desk.a), body=body_kind(desk.car))
        self._draw()
        self._loop = LiveLoop(
            [
                Stage(self._compute_event, self._show_event),
                Stage(self._compute_all, self._show_all),
                self._hint.stage(),
            ],
            refuse=self._refuse,
        )
        self._hint.say_in(self._panel, self._loop)
        desk.changed.append(self._loop.wake)
        client.on_delete(self._loop.stop)
        self._loop.start()

    # Layout

    def _draw(self) -> None:
        with ui.element("div").classes("fp-bench"):
            self._panel = SetupPanel(self._shop, self._desk, on_tell=self._hint.tell)
            with ui.element("div").classes("fp-bench-right"):
                with ui.element("section").classes("fp-card fp-wide").props('aria-label="The car"'):
                    self._car = CarView("The car in the chosen event", link=_LINK, height=250, autoplay=True)
                    self._said = ui.label("Preparing this car's corners, road and kerb ...")
                    self._said.classes("fp-small").props('role="status"')
                answer = ui.element("section").classes("fp-card fp-bench-answer")
                with answer.props('aria-label="Balance and bumps"'):
                    ui.html(_TABLE_TITLE, sanitize=False).classes("fp-small")
                    self._table_place = ui.element("div")
                    if self._shop.engine.preparing:
                        with self._table_place:
                            draw_ready(ready_answer())
                with ui.element("section").classes("fp-card").props('aria-label="Tyre loads"'):
                    self._loads = Chart(
                        title="Load on each tyre",
                        unit="N",
                        series=tyre_pens(),
                        x={"label": "time [s]", "short": "t", "unit": "s"},
                        link=_LINK,
                        height=235,
                    )
                ui.label(CAUTION).classes("fp-small fp-soft fp-wide")

    def _draw_table(self, workout: Workout) -> PhaseTable:
        self._table_place.clear()
        with self._table_place:
            return PhaseTable(
                columns=bench_columns(corner_notes(workout)),
                groups=bench_groups(driven_end(self._desk.car)),
                caption="Which axle runs out of grip first, by phase and corner speed, and what bumps cost",
                choice=f"entry|{self._event}",
                on_choose=self._choose,
            )

    # What moves

    def _measure(self, setup: Setup, only: Sequence[str] | None = None) -> Worked:
        desk = self._desk
        return self._shop.workout(desk.car, desk.a).measure(apply_setup(desk.car, setup), only=only)

    def _compute_event(self) -> tuple[str, Worked, int]:
        event, sequence = self._event, self._desk.sequence
        return event, self._measure(self._desk.b, [event]), sequence

    async def _show_event(self, found: tuple[str, Worked, int]) -> None:
        event, worked, sequence = found
        if event in worked.errors:
            self._loads.mark_stale(worked.errors[event])
            return
        a, b = worked.reference[event].history, worked.outcomes[event].history
        lines = [one.tyre_load[:, corner] for one in (a, b) for corner in range(4)]
        self._car.set_runs(both_runs(self._shape, a, b))
        await self._loads.show(b.time, lines, phases=named_spans(b.phases), sequence=sequence)

    def _compute_all(self) -> tuple[Workout, BenchAnswer, int]:
        desk, sequence = self._desk, self._desk.sequence
        return self._shop.workout(desk.car, desk.a), bench_answer(self._measure(desk.b)), sequence

    async def _show_all(self, found: tuple[Workout, BenchAnswer, int]) -> None:
        workout, self._answer, sequence = found
        if self._table is None:
            self._table = self._draw_table(workout)
        self._said.set_text("\n".join(f"{event}: {text}" for event, text in self._answer.errors.items()))
        await self._table.show(bench_cells(self._answer, driven_end(self._desk.car)), sequence=sequence)

    def _step_text(self, up: Setup | None, down: Setup | None) -> str:
        if self._answer is None:
            return ""

        def answer(setup: Setup | None) -> BenchAnswer | None:
            return None if setup is None else bench_answer(self._measure(setup))

        return step_text(answer(up), answer(down), self._answer)

    def _refuse(self, error: Exception) -> None:
        self._loads.mark_stale(fault_text(error))
        self._said.set_text(fault_text(error))

    async def _choose(self, row: str, column: str) -> None:
        self._event = row if row in BUMP_EVENTS else column
        self._loop.wake()
