"""A set-up: one step per adjuster, and the car it makes."""

from dataclasses import replace
from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from fourpatch.car.adjusters import Adjuster, adjuster, unknown_adjuster
from fourpatch.car.paths import Parameter, parameter, replace_parameters
from fourpatch.document.fault import Fault
from fourpatch.document.part import Part
from fourpatch.errors import CarError

if TYPE_CHECKING:
    from fourpatch.car.car import Car


class Setup(Part):
    """One number per adjuster, on the driver's own scale. An adjuster left out stands at its baseline."""

    name: str = Field(min_length=1, max_length=80)
    """What the set-up is called."""
    car: str = Field(min_length=1)
    """The name of the car it is for."""
    note: str = ""
    """Anything worth knowing about it."""
    values: dict[str, Annotated[float, Field(strict=True, allow_inf_nan=False)]] = Field(default_factory=dict)
    """The step of each adjuster, by the adjuster's name."""

    def position(self, adjuster: Adjuster) -> float:
        """Return where an adjuster stands in this set-up."""
        return self.values.get(adjuster.name, adjuster.baseline)


def baseline_setup(car: "Car", name: str = "baseline") -> Setup:
    """Return the set-up that leaves the car exactly as it is written."""
    return Setup(name=name, car=car.name, values={one.name: one.baseline for one in car.adjusters})


def step(setup: Setup, adjuster: Adjuster, steps: int) -> Setup | None:
    """Return the set-up with one adjuster moved by whole steps, upward if positive; None beyond its stop."""
    wanted = setup.position(adjuster) + steps * adjuster.step
    moved = adjuster.nearest(wanted)
    if abs(moved - wanted) > 0.5 * adjuster.step:
        return None
    return setup.model_copy(update={"values": {**setup.values, adjuster.name: moved}})


def apply_setup(car: "Car", setup: Setup) -> "Car":
    """Return the car as it is with a set-up, checked again.

    Raises
    ------
    CarError
        If the set-up is for another car, names an adjuster the car has not, or has a value outside
        its range or between two steps; all faults together.

    Notes
    -----
    Where several adjusters act on a parameter, those that set its value come first, then those that
    add to it, then those that multiply it, whatever their order in the file.
    """
    faults = setup_faults(setup, car)
    if faults:
        raise CarError("\n".join(f'set-up "{setup.name}": {key[-1]} {text}' for key, text in faults))
    values: dict[str, float] = {}
    for one in sorted(car.adjusters, key=_turn):
        position = one.nearest(setup.position(one))
        if position == one.baseline:
            continue
        for path in one.targets:
            own = parameter(car, path)
            target = replace(own, value=values.get(path, own.value))
            values[path] = _value(one, position, target)
    return replace_parameters(car, values)


def setup_faults(setup: Setup, car: "Car") -> list[Fault]:
    """Return what keeps a set-up from being applied to a car."""
    faults = []
    if setup.car != car.name:
        faults.append(
            Fault(
                ("car",),
                f'is "{setup.car}", but the car is "{car.name}". The same numbers mean something else on '
                "another "
                f'car; write car = "{car.name}" if they are meant for this one.',
            )
        )
    for name, number in setup.values.items():
        key = ("values", name)
        if not any(one.name == name for one in car.adjusters):
            faults.append(Fault(key, unknown_adjuster(car, name)))
            continue
        one = adjuster(car, name)
        if not one.allows(number):
            faults.append(Fault(key, f"= {number:g} {one.refusal(number)}"))
    return faults


def _turn(one: Adjuster) -> int:
    if one.sets == "factor":
        return 2
    return 0 if one.overwrites() else 1


def _value(one: Adjuster, position: float, target: Parameter) -> float:
    try:
        return one.value(position, target)
    except ValueError as error:
        raise CarError(f'adjuster "{one.name}": its map for {target.path} {error}') from None
