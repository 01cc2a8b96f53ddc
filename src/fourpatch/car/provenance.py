"""Where a car's numbers came from, kept beside them: given, estimated, identified or invented."""

import re
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
ALIKE = Unit("1", "%", 0.0, 1.0)


class Provenance(Part):
    """Where a number came from, and how far it may be off."""

    source: Literal["given", "estimated", "identified", "demo"]
    """Given by the user, estimated from other numbers, identified from a recording, or invented."""
    method: str = ""
    """How it was found: the name of the regression or rule, with its source."""
    spread: str = ""
    """One standard deviation: of the value ("20 %"), or in the parameter's own unit ("5 mm")."""
    alike: str = ""
    """Correlation with the same number of the other axle ("90 %"): both are off the same way."""
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


def alike(car: "Car", path: str) -> float:
    """Return the correlation of a parameter with that of the other axle; 0 where none is said."""
    text = origin(car, path).alike
    return ALIKE.check(ALIKE.parse(text), written=text) if text else 0.0


def of_other_axle(path: str) -> str:
    """Return the dotted name of the same parameter of the other axle; empty if it is not of one."""
    other = re.sub(r"(^|\.)(front|rear)(?=[._])", lambda at: at[1] + _OTHER[at[2]], path, count=1)
    return other if other != path else ""


_OTHER = {"front": "rear", "rear": "front"}


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
        if entry.alike:
            faults += _alike_faults(car, {one.path for one in known}, below, name, entry)
    return faults


def _alike_faults(
    car: "Car", known: set[str], below: list[Parameter], name: str, entry: Provenance
) -> list[Fault]:
    key = ("provenance", name, "alike")
    try:
        ALIKE.check(ALIKE.parse(entry.alike), written=entry.alike)
    except ValueError as error:
        return [Fault(key, f'{error} It is a correlation, 0 to 100 %, such as "90 %".')]
    pairs = [(one.path, other) for one in below if (other := of_other_axle(one.path)) in known]
    if below and not pairs:
        return [Fault(key, f'is "{entry.alike}", but {name} is not of one axle, so nothing is like it.')]
    for own, other in pairs:
        said = origin(car, other)
        if origin(car, own) is entry and said.spread and said.alike != entry.alike:
            text = f'is "{entry.alike}", but that of {other} is "{said.alike}". Both axles must say the same.'
            return [Fault(key, text)]
    return []


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
