"""Where a car's numbers came from, kept beside them: given, estimated, identified or invented."""

from collections import Counter
from typing import TYPE_CHECKING, Literal, Self

from pydantic import model_validator

from fourpatch.car.paths import Parameter, is_left_out, parameter, parameters, unknown_name
from fourpatch.document.fault import Fault, Key
from fourpatch.document.part import Part
from fourpatch.units import Unit

if TYPE_CHECKING:
    from fourpatch.car.car import Car

WHOLE_CAR = "car"
"""The name under which provenance stands for all parameters not named otherwise."""

RELATIVE_SPREAD = Unit("1", "%", 0.0, 3.0)


class Provenance(Part):
    """Where a number came from, and how far it may be off."""

    source: Literal["given", "estimated", "identified", "demo"]
    """Given by the user, estimated from other numbers, identified from a recording, or invented."""
    method: str = ""
    """How it was found: the name of the regression or rule, with its source."""
    spread: str = ""
    """One standard deviation: of the value ("20 %"), or in the parameter's own unit ("5 mm")."""
    recording: str = ""
    """The recording it was identified from."""

    @model_validator(mode="after")
    def _says_what_is_due(self) -> Self:
        due = {"estimated": ("method", "spread"), "identified": ("recording", "spread")}.get(self.source, ())
        missing = [name for name in due if not getattr(self, name)]
        if missing:
            raise ValueError(
                f'source = "{self.source}" without {" and ".join(missing)}. Add '
                + ", ".join(f'{name} = "{_MODELS[name]}"' for name in missing)
                + "."
            )
        return self


_MODELS = {"method": "how it was estimated", "recording": "file or session", "spread": "20 %"}

GIVEN = Provenance(source="given")


def origin(car: "Car", path: str) -> Provenance:
    """Return where a parameter came from.

    Notes
    -----
    An entry counts for all below its name; the closest one decides: ``front.tyre.radius`` before
    ``front.tyre``, before ``front``, before ``car``. Without any the user has given the value.
    """
    names = path.split(".")
    for length in range(len(names), 0, -1):
        entry = car.provenance.get(".".join(names[:length]))
        if entry:
            return entry
    return car.provenance.get(WHOLE_CAR, GIVEN)


def spread(car: "Car", path: str) -> float:
    """Return one standard deviation of a parameter, SI; 0 where none is said.

    Raises
    ------
    CarError
        If there is no such parameter.
    """
    found = parameter(car, path)
    text = origin(car, path).spread
    return _spread(text, value=found.value, unit=found.unit) if text else 0.0


def provenance_faults(car: "Car") -> list[Fault]:
    """Return what is wrong with a car's provenance: names that mean nothing, spreads of another unit."""
    known = list(parameters(car))
    faults = []
    for name, entry in car.provenance.items():
        below = [p for p in known if name == WHOLE_CAR or f"{p.path}.".startswith(f"{name}.")]
        if not below and not is_left_out(car, name):
            faults.append(Fault(("provenance", name), f"does not apply: {unknown_name(car, name)}"))
        elif entry.spread:
            faults += _spread_faults(below, ("provenance", name, "spread"), entry.spread)
    return faults


def _spread_faults(below: list[Parameter], key: Key, text: str) -> list[Fault]:
    for found in below:
        try:
            if _spread(text, value=found.value, unit=found.unit) < 0.0:
                return [Fault(key, f'is "{text}", below zero. A spread is one standard deviation.')]
        except ValueError as error:
            several = " of every parameter it covers" if len(below) > 1 else ""
            text = f'{error} A spread is in the unit{several} ({found.path}), or a share such as "20 %".'
            return [Fault(key, text)]
    return []


def _spread(text: str, *, value: float, unit: Unit) -> float:
    """Read a spread: a share of the value if it is written with %, else in the unit of the parameter."""
    if text.rstrip().endswith("%"):
        return RELATIVE_SPREAD.check(RELATIVE_SPREAD.parse(text), written=text) * abs(value)
    return unit.parse_difference(text)


def origins(car: "Car") -> dict[str, int]:
    """Count a car's parameters by where they came from."""
    counted = Counter(origin(car, found.path).source for found in parameters(car))
    return {source: counted[source] for source in ("given", "identified", "estimated", "demo")}
