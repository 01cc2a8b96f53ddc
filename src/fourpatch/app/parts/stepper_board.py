"""All adjusters of a car as steppers, in the driver's own steps, with what each step is in physical units."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, get_args

from nicegui import events
from nicegui.element import Element

from fourpatch.app.words import capital, physical_text
from fourpatch.car.adjusters import Adjuster, DirectMap
from fourpatch.car.car import Car
from fourpatch.car.paths import parameter
from fourpatch.car.scale_words import standing_at
from fourpatch.car.setup import Setup
from fourpatch.picture.shown import pretty


class StepperBoard(Element, component="stepper_board.js"):
    """Steppers of all adjusters; tells which were turned."""

    def __init__(
        self,
        car: Car,
        setup: Setup,
        reference: Setup,
        *,
        drawer: str,
        on_turn: Callable[[Mapping[str, float], int], None],
        on_find: Callable[[Mapping[str, float]], None],
        on_tell: Callable[[str], None] = lambda name: None,
        on_undo: Callable[[], object],
        on_redo: Callable[[], object],
    ) -> None:
        """Draw the board.

        Parameters
        ----------
        setup, reference : where the steppers stand, and the mark beside each.
        drawer : where the browser's tab keeps what is turned while the server is away.
        on_turn : told the new positions by adjuster and a number that counts the turns of this tab.
        on_find : told positions that a tab had kept for a server that was away.
        on_tell : told the adjuster that is pointed at.
        on_undo, on_redo : called when their keys are pressed on a stepper.
        """
        super().__init__()
        self._car = car
        self._props["rows"] = board_rows(car)
        self._props["drawer"] = drawer
        self._props["physicals"] = physicals(car)
        self._props["start"] = positions(car, setup)
        self._props["reference"] = positions(car, reference)

        def values(event: events.GenericEventArguments) -> dict[str, float]:
            return {str(name): float(value) for name, value in event.args["values"].items()}

        self.on("turned", lambda event: on_turn(values(event), int(event.args["sequence"])))
        self.on("found", lambda event: on_find(values(event)))
        self.on("told", lambda event: on_tell(str(event.args["name"])))
        self.on("undone", lambda: on_undo() and None)
        self.on("redone", lambda: on_redo() and None)

    def put(self, *, setup: Setup, reference: Setup, sequence: int) -> None:
        """Put the steppers and the marks elsewhere, all turns up to one counted in."""
        self.run_method("put", positions(self._car, setup), positions(self._car, reference), sequence)

    def settle(self, sequence: int) -> None:
        """Say that all turns up to one are in the notebook."""
        self.run_method("settle", sequence)

    def hint(self, name: str, text: str) -> None:
        """Say what the engine found a step of an adjuster to do."""
        self.run_method("hint", name, text)


def positions(car: Car, setup: Setup) -> dict[str, float]:
    """Return where every adjuster stands, by name."""
    return {one.name: setup.position(one) for one in car.adjusters}


_SHARES = ("N/m", "N*s/m", "N*m*s/rad", "N*m/rad", "Pa", "N*m", "1")
"""SI units of which a change in per cent says something: they have a true zero that is far away."""

_ORDER = get_args(Adjuster.model_fields["system"].annotation)
"""Systems in the order of the car file's description."""


def board_rows(car: Car) -> list[dict[str, Any]]:
    """Return the rows of the board: pairs that do the same at both axles, then what is left, three by three.

    Notes
    -----
    A pair acts on the same parameters of the front and the rear axle: ``front.spring.rate`` and
    ``rear.spring.rate``. Only then is it fair to put them under one name.
    """
    by_use: dict[tuple[str, ...], dict[str, Adjuster]] = {}
    for one in car.adjusters:
        by_use.setdefault(tuple(_without_axle(path) for path in one.targets), {})[_axle(one)] = one
    pairs = [both for both in by_use.values() if both.keys() == {"front", "rear"}]
    pairs.sort(key=lambda both: _ORDER.index(both["front"].system))
    rows = [_pair(car, both["front"], both["rear"]) for both in pairs]
    for row, earlier in zip(rows[1:], pairs, strict=False):
        row["first"] = row["system"] != earlier["front"].system
    left = [one for both in by_use.values() if both.keys() != {"front", "rear"} for one in both.values()]
    left.sort(key=lambda one: _ORDER.index(one.system))
    for three in batched(left, 3):
        cells = [_cell(car, one) for one in three]
        rows.append({"key": three[0].name, "label": "", "first": three[0] is left[0], "cells": cells})
    return rows


def _pair(car: Car, front: Adjuster, rear: Adjuster) -> dict[str, Any]:
    scales = dict.fromkeys(_scale(car, one) for one in (front, rear))
    names = dict.fromkeys(without_axle_name(one.name) for one in (front, rear))
    return {
        "key": front.name,
        "label": capital(", ".join(names)),
        "unit": " / ".join(one.replace(" ", "\u00a0") for one in scales),
        "system": front.system,
        "first": True,
        "cells": [_cell(car, front), _cell(car, rear)],
    }


def physicals(car: Car) -> dict[str, dict[str, Any]]:
    """Return what each position of each adjuster is in physical units: numbers for shares, texts to be read.

    ``direct`` is as `_direct` says.
    """
    found = {}
    for one in car.adjusters:
        target = parameter(car, one.targets[0])
        values = [one.value(at, target) for at in one.positions()]
        found[one.name] = {
            "direct": _direct(one, physical_text(target.unit, values[0])[1]),
            "values": values if target.unit.si in _SHARES else [None] * len(values),
            "texts": [" ".join(physical_text(target.unit, value)) for value in values],
            "numbers": [physical_text(target.unit, value)[0] for value in values],
        }
    return found


def without_axle_name(name: str) -> str:
    """Return an adjuster's name without the axle before it."""
    for axle in ("front ", "rear "):
        if name.lower().startswith(axle):
            return name[len(axle) :]
    return name


def batched(items: Sequence[Adjuster], size: int) -> Iterator[Sequence[Adjuster]]:
    """Yield runs of so many items; the last may be shorter."""
    for start in range(0, len(items), size):
        yield items[start : start + size]


def _scale(car: Car, one: Adjuster) -> str:
    """Return what the numbers of a stepper count: ``mm``, or ``position = N/mm`` where a second says more."""
    target = parameter(car, one.targets[0])
    physical = physical_text(target.unit, one.value(one.baseline, target))[1]
    own = physical if _direct(one, physical) else pretty(one.unit) or "step"
    if not physical and one.name.lower().endswith(f" {own}"):  # differential power ramp: it says so itself
        return ""
    return " = ".join(dict.fromkeys(filter(None, (own, physical))))


def _direct(one: Adjuster, physical: str) -> bool:
    """Return whether a scale is the physical value in the unit shown, so that it need not be said twice."""
    return isinstance(one.map, DirectMap) and one.sets == "value" and pretty(one.map.unit) in (physical, "1")


def _cell(car: Car, one: Adjuster) -> dict[str, Any]:
    return {
        "name": one.name,
        "label": capital(one.name),
        "unit": pretty(one.unit),
        "numbered": standing_at(2.0, one.unit).startswith(one.unit) if one.unit else False,
        "scale": _scale(car, one),
        "lowest": one.lowest,
        "highest": one.highest,
        "step": one.step,
        "say": f"Up: {one.more_means.rstrip('.')}.",
    }


def _without_axle(path: str) -> str:
    head, _, rest = path.partition(".")
    if head in ("front", "rear"):
        return rest
    return path.replace("front_", "").replace("rear_", "") if head == "aero" else path


def _axle(one: Adjuster) -> str:
    heads = {path.partition(".")[0] for path in one.targets}
    if heads == {"aero"}:
        return "front" if ".front_" in one.targets[0] else "rear"
    return heads.pop() if heads in ({"front"}, {"rear"}) else f"car: {one.name}"
