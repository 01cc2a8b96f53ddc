"""Grip over bump and rebound of an axle's dampers."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal, get_args

if TYPE_CHECKING:
    import xarray as xr


from fourpatch.analysis import contact_patch_load
from fourpatch.analysis.damper_map import (
    MEASURES,
    Part,
    best_damping,
    damper_map,
    good_ratios,
    present_ratio,
    present_value,
    valley,
)
from fourpatch.analysis.standard_events import standard_kerb, standard_road
from fourpatch.answers.answer import Answer
from fourpatch.answers.question import Asked, Found, Question, Units
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.document.content import of_settings, settings_content
from fourpatch.events.bumps import BumpEvent
from fourpatch.events.files import Event
from fourpatch.picture.blocks import Block, Picture, Table, drawing, means
from fourpatch.picture.damper_map_meaning import maps_meaning, ratio_text
from fourpatch.picture.head import Head
from fourpatch.picture.shown import words
from fourpatch.units import Unit

MAP: Units = {
    "present": ("1", "the measure as the set-up stands"),
    "least": ("1", "the least on the map"),
    "best_bump": ("1", "factor on the present bump damping at which it is least"),
    "best_rebound": ("1", "factor on the present rebound damping there"),
    "valley": ("1", "best rebound factor for each bump factor"),
    "good_ratio": (
        "1",
        "`low` and `high` end of rebound over bump that costs at most `cost` above the least, the total set "
        "to suit",
    ),
    "map": {
        "coordinates": {
            "bump": ("1", "factors on the present bump damping"),
            "rebound": ("1", "factors on the present rebound damping"),
        },
        **{name: contact_patch_load.UNITS[name] for name in MEASURES},
    },
}
"""Unit and meaning of what is found on the map of one event."""

_TOLD = ("axle", "part", "measure", "cost")
"""Settings that stand in the answer; the others are in its events."""

_PARTS = {"all": "whole curves", "low": "below the first knee", "high": "beyond the first knee"}


class DamperMap(Question):
    """Grip over bump and rebound of an axle: where its dampers work best, and which ratios are good."""

    command: ClassVar[str] = "analyse damper-map"
    question: ClassVar[str] = "Which bump and rebound of the dampers are best here?"
    finds: ClassVar[dict[str, Found]] = {"maps": MAP}
    by_event: ClassVar[bool] = True
    events: ClassVar[tuple[type[Event], ...]] = get_args(BumpEvent)
    events_for: ClassVar[str] = "bumps are looked at"
    drawn: ClassVar[bool] = True

    axle: Literal["front", "rear"]
    """Whose dampers are varied."""
    part: Part = "all"
    """Which part of their curves: all, below the first knee, or beyond it."""
    road_class: tuple[Literal["A", "B", "C", "D", "E", "F", "G", "H"], ...] = ()
    """Random road of that class of ISO 8608; may be repeated, to see them beside each other."""
    kerb_height: Annotated[float, Unit("m", "mm", 1e-3, 0.3)] | None = None
    """The standard kerb, of this height."""
    measure: Literal["grip_lost", "load_variation"] = "grip_lost"
    """What is to be small."""
    cost: Annotated[float, Unit("1", "%", 1e-5, 1.0)] = 0.001
    """What a good ratio of rebound to bump may cost above the best, in the measure."""

    def answer(self, asked: Asked) -> Answer:
        """Compute it."""
        car = asked.car
        events = self._events(car.standing, asked.events)
        maps = {
            name: damper_map(car.standing, event, axle=self.axle, part=self.part)
            for name, event in events.items()
        }
        ratio = present_ratio(pack(car.standing), axle=self.axle, part=self.part)
        told: dict[str, Any] = {"measure": self.measure, "cost": self.cost, "ratio": ratio}
        dampers = f"{car.named}; {self.axle} dampers, computed on the rig"
        source = f"{dampers}; contours: cost above the best [points]"
        asks = f"Which bump and rebound cost the least {words(self.measure)}?"
        if self.measure == "grip_lost":
            asks = "Which bump and rebound leave the most grip?"
        figure = "damper_map.damper_map_figure"
        draw = drawing(figure, maps, measure=self.measure, cost=self.cost, question=asks, source=source)
        return Answer(
            title=f"{car.named}: {self.axle} dampers, {_PARTS[self.part]} (computed on the rig)",
            about={
                **car.content(),
                "mode": "rig",
                "events": {name: {"kind": one.kind, **settings_content(one)} for name, one in events.items()},
                **of_settings(type(self), {name: getattr(self, name) for name in _TOLD}),
                "ratio": {"value": ratio, "unit": "1"},
            },
            found={"maps": maps_content(maps, **told)},
            blocks=[*maps_blocks(maps, **told), Picture(draw=draw, says=asks)],
        )

    def _events(self, car: Car, given: Mapping[str, Event]) -> dict[str, BumpEvent]:
        """Return the events asked for, or the standard road and kerb if none is."""
        events = {name: one for name, one in given.items() if isinstance(one, BumpEvent)}
        road, kerb = standard_road(car), standard_kerb(car)
        for name in self.road_class:
            events[f"class {name} road"] = road.model_copy(update={"road_class": name})
        if self.kerb_height is not None:
            kerb_there = kerb.model_copy(update={"height": self.kerb_height})
            events[f"kerb of {1e3 * self.kerb_height:g} mm"] = kerb_there
        both: dict[str, BumpEvent] = {
            f"class {road.road_class} road": road,
            f"kerb of {1e3 * kerb.height:g} mm": kerb,
        }
        return events or both


def maps_blocks(maps: "Mapping[str, xr.Dataset]", *, measure: str, cost: float, ratio: float) -> list[Block]:
    """Return for each event where the set-up stands, where it would be best, and which ratios are good.

    Parameters
    ----------
    ratio : rebound over bump as the set-up stands.
    cost : allowed above the least, in the measure's own unit.
    """
    rows = []
    for name, one in maps.items():
        best, good = best_damping(one, measure), good_ratios(one, cost=cost, measure=measure)
        present = present_value(one, measure)
        rows.append(
            (
                name,
                f"{100.0 * present:.2f}",
                f"{100.0 * best.value:.2f}",
                f"{100.0 * (present - best.value):.2f}",
                f"{best.bump:.2f}",
                f"{best.rebound:.2f}",
                ratio_text(good, ratio),
            )
        )
    table = Table(
        heads=[
            Head(text="event", right=False),
            Head(text=words(measure), unit="%"),
            Head(text="least", unit="%"),
            Head(text="cost of being off", unit="points"),
            Head(text="best bump", unit="× now"),
            Head(text="best rebound", unit="× now"),
            Head(text="good rebound / bump", unit="1", now=f"{ratio:.2f}"),
        ],
        rows=rows,
    )
    return [table, means(maps_meaning(maps, measure=measure, cost=cost, ratio=ratio))]


def maps_content(
    maps: "Mapping[str, xr.Dataset]", *, measure: str, cost: float, ratio: float
) -> dict[str, Any]:
    """Return the maps for JSON, each with its best, its valley and its good ratios."""
    content: dict[str, Any] = {}
    for name, one in maps.items():
        best, good = best_damping(one, measure), good_ratios(one, cost=cost, measure=measure)
        content[name] = {
            "present": {"value": present_value(one, measure), "unit": "1"},
            "least": {"value": best.value, "unit": "1"},
            "best_bump": {"value": best.bump, "unit": "1"},
            "best_rebound": {"value": best.rebound, "unit": "1"},
            "best_at_edge": best.at_edge,
            "valley": {"value": valley(one, measure).tolist(), "unit": "1"},
            "good_ratio": {
                "value": {"low": good.low * ratio, "high": good.high * ratio},
                "unit": "1",
            },
            "good_ratio_open": {"low": good.low_open, "high": good.high_open},
            "map": one,
        }
    return content
