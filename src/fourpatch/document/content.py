"""What was found as JSON says it: numbers with their unit, tables by the names of their places."""

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import xarray as xr

    from fourpatch.document.part import Part


def number(value: float, unit: str) -> dict[str, Any]:
    """Return a number with its unit; what is not finite becomes null."""
    return {"value": finite(value), "unit": json_unit(unit)}


def finite(value: float) -> float | None:
    """Return a float that JSON can say, or None."""
    return float(value) if math.isfinite(value) else None


def json_unit(unit: str) -> str:
    """Spell a unit the way car files do: ``m/s**2``."""
    return unit.replace("^", "**").replace("N s", "N*s").replace("N m", "N*m")


def settings_content(part: "Part") -> dict[str, Any]:
    """Return the settings of a question, an event or a style by name, in SI with their units."""
    from fourpatch.document.fields import settings

    return of_settings(type(part), settings(part))


def of_settings(model: "type[Part]", values: Mapping[str, Any]) -> dict[str, Any]:
    """Return some settings of a kind of part, each with its SI unit if it has one."""
    from fourpatch.document.fields import unit_of

    units = {name: unit_of(model.model_fields[name]) for name in values}
    return {
        name: {"value": value, "unit": json_unit(unit.si)} if (unit := units[name]) else value
        for name, value in values.items()
    }


def dataset_content(dataset: "xr.Dataset") -> dict[str, Any]:
    """Return a dataset: under each name its values, SI unit and dimensions.

    Notes
    -----
    Along a dimension with names (corner, axle, phase) values are an object by name, along a number
    (time, frequency) a list; that number is in ``coordinates`` with its unit.
    """
    labels = {
        str(name): [str(label) for label in values.values]
        for name, values in dataset.coords.items()
        if values.dims == (name,) and values.dtype.kind in "UO"
    }
    coordinates = {
        str(name): {"value": _listed(values.values), "unit": json_unit(values.attrs.get("units", ""))}
        for name, values in dataset.coords.items()
        if name not in labels and values.ndim == 1
    }
    quantities = {
        str(name): {
            "value": _keyed(values.values, [labels.get(str(dim)) for dim in values.dims]),
            "unit": json_unit(values.attrs["units"]),
            "dimensions": [str(dim) for dim in values.dims],
        }
        for name, values in dataset.data_vars.items()
    }
    return {"coordinates": coordinates, **quantities} if coordinates else quantities


def _listed(values: Any) -> list[Any]:
    return [finite(v) if isinstance(v, float) else v for v in values.tolist()]


def _keyed(values: Any, labels: Sequence[list[str] | None]) -> Any:
    if not labels:
        return finite(float(values))
    first, rest = labels[0], labels[1:]
    parts = [_keyed(part, rest) for part in values]
    return parts if first is None else dict(zip(first, parts, strict=True))


def ready(found: Any) -> Any:
    """Return anything that was found as JSON says it: findings, datasets, and tables and lists of them."""
    if hasattr(found, "data_vars"):  # a dataset, which counts as a mapping too
        return dataset_content(found)
    if isinstance(found, Mapping):
        return {str(name): ready(one) for name, one in found.items()}
    if isinstance(found, float):
        return finite(found)
    if found is None or isinstance(found, str | bool | int):
        return found
    if hasattr(found, "content"):
        return found.content()
    return [ready(one) for one in found]
