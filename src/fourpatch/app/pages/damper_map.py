"""The section with the damper map: made again by itself when the hand rests, coarse first, then fine."""

import asyncio
import time
from collections.abc import Callable
from typing import Any, get_args

from nicegui import ui

from fourpatch.analysis.damper_map import Part
from fourpatch.app.answers.damper_map import (
    MEASURES,
    Axle,
    DamperMapAnswer,
    MeasureMap,
    map_key,
    start_damper_map,
)
from fourpatch.app.jobs import Job
from fourpatch.app.number_words import measure
from fourpatch.app.parts.choice import Choice
from fourpatch.app.parts.damper_map import DamperMap, contour_levels
from fourpatch.app.parts.job_bar import JobBar
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.car.setup import apply_setup
from fourpatch.errors import FourpatchError
from fourpatch.events.kerb_strike import KerbStrike
from fourpatch.events.rough_road import RoughRoad
from fourpatch.picture.shown import pretty, words

_REST = 0.7
"""Rest of the hand after which the map is made again. [s]"""

_PARTS = {
    "all": "whole curves",
    "low": "low speed, below the knee",
    "high": "high speed, beyond the knee",
}
_DECIMALS = {"1": 2, "m": 1, "m/s**2": 2}


class MapSection:
    """Follows the desk and the page's event."""

    def __init__(self, shop: Shop, desk: Desk, event: Callable[[], KerbStrike | RoughRoad]) -> None:
        """Draw the section.

        Parameters
        ----------
        event : returns the kerb or road the page is about.
        """
        self._shop, self._desk, self._event = shop, desk, event
        self._axle: Axle = "front"
        self._part: Part = "all"
        self._measure = MEASURES[0]
        self._job: Job | None = None
        self._seen: DamperMapAnswer | None = None
        self._due: float | None = None
        with ui.element("section").classes("fp-card").props('aria-label="Damper map"'):
            ui.html(
                "<b>Damper map</b> <span class='fp-soft fp-small'>what every pair of bump and rebound does "
                "here, the rest of B as it stands; contours: cost above the best</span>",
                sanitize=False,
            )
            self._draw_choice()
            with ui.element("div").classes("fp-steady"):
                self._bar = JobBar(on_end=self._ended)
            self._map = DamperMap()
            self._said = ui.label("The map comes when the hand rests.").classes("fp-said")
        self._timer = ui.timer(0.2, self._look)

    def _draw_choice(self) -> None:
        names = {name: words(name) for name in MEASURES}
        with ui.element("div").classes("fp-row fp-fields"):
            Choice("Dampers", {"front": "front", "rear": "rear"}, "front", on_choose=self._choose_axle)
            Choice(
                "Varied", _PARTS, "all", on_choose=self._choose_part, tell="Which part of the damper curves"
            )
            Choice("To be small", names, self._measure, on_choose=self._choose_measure)

    def look_soon(self) -> None:
        """Make the map again once nothing has moved for a while."""
        self._due = time.monotonic() + _REST

    def _choose_axle(self, axle: str) -> None:
        self._axle = "rear" if axle == "rear" else "front"
        self._due = time.monotonic()

    def _choose_part(self, part: str) -> None:
        self._part = next(one for one in get_args(Part) if one == part)
        self._due = time.monotonic()

    def _choose_measure(self, name: str) -> None:
        self._measure = name
        self._show()

    async def _look(self) -> None:
        """Start the map that is due; show what the running one has found."""
        if self._due is not None and time.monotonic() >= self._due:
            self._due = None
            try:
                await asyncio.to_thread(self._start)
            except FourpatchError as error:
                self._said.set_text(str(error))
                return
            if self._job is not None and not self._job.over:
                self._bar.follow(self._job)
        if self._job is not None and self._job.result is not self._seen:
            self._show()

    def _start(self) -> None:
        desk, event = self._desk, self._event()
        car = apply_setup(desk.car, desk.b)
        key = map_key(car, event, axle=self._axle, part=self._part)
        if self._job is not None:
            if self._job.key == key and self._job.state != "cancelled" and not self._job.cancelled():
                return
            self._job.cancel()
            self._map.mark_stale(True)
        self._job = start_damper_map(
            self._shop.jobs, car, event, axle=self._axle, part=self._part, unasked=True
        )

    def _ended(self, job: Job) -> None:
        if job is not self._job:
            return
        if job.state == "failed":
            self._said.set_text(job.error)
        self._show()

    def _show(self) -> None:
        if self._job is None or not isinstance(self._job.result, DamperMapAnswer):
            return
        answer = self._seen = self._job.result
        one = next(each for each in answer.maps if each.measure == self._measure)
        coarse = " A first, coarse map; a finer one is on its way." if not self._job.over else ""
        self._map.show(_payload(answer, one))
        self._said.set_text(one.said + coarse)


def _payload(answer: DamperMapAnswer, one: MeasureMap) -> dict[str, Any]:
    """Return a map as it is drawn, in the unit that is shown."""
    here = measure(one.measure, one.unit)
    values = [[value / here.scale for value in row] for row in one.values]
    most = max(max(row) for row in values) - one.least / here.scale
    good = None
    if one.good_ratio is not None:
        good = [ratio / answer.present_ratio for ratio in one.good_ratio]
    return {
        "title": f"{words(one.measure)} over bump and rebound of the {answer.axle} dampers. {one.said}",
        "name": words(one.measure),
        "unit": pretty(here.shown),
        "decimals": _DECIMALS.get(one.unit, 2),
        "axle": answer.axle,
        "factors": answer.factors,
        "values": values,
        "levels": contour_levels(most),
        "valley": one.valley,
        "best": [one.best_bump, one.best_rebound],
        "good": good,
    }
