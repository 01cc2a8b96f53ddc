"""What the scale of an adjuster counts, in words: how far it is turned, and where it stands."""

_MEASURES = {"bar", "deg", "psi", "kPa", "rpm"}
"""Units of a measure that might be taken for the name of a step."""


def counted(number: float, unit: str) -> str:
    """Return how much of what a scale counts: ``1 click``, ``3 positions``, ``80 N·m``, ``0.05 bar``."""
    if not _is_noun(unit):
        return f"{number:g} {unit.replace('*', '·')}".rstrip()
    one = _singular(unit)
    return f"{number:g} {one if abs(number) == 1.0 else _plural(one)}"


def standing_at(number: float, unit: str) -> str:
    """Return where a scale stands: ``position 3``, ``hole 1``, but ``9 clicks``, ``2.1 bar``.

    Notes
    -----
    A scale whose unit is written in the singular ("position", "hole") numbers its places; in the plural
    ("clicks", "shims") it counts them.
    """
    if _is_noun(unit) and _singular(unit) == unit:
        return f"{unit} {number:g}"
    return counted(number, unit)


def from_to(before: float, after: float, unit: str) -> str:
    """Return where a scale stood and stands: ``from position 4 to 1``, ``from 10 to 12 clicks``."""
    if _is_noun(unit) and _singular(unit) == unit:
        return f"from {unit} {before:g} to {after:g}"
    return f"from {before:g} to {counted(after, unit)}"


def _is_noun(unit: str) -> bool:
    return unit.isalpha() and len(unit) > 2 and unit not in _MEASURES


def _singular(unit: str) -> str:
    if unit.endswith(("ches", "shes")):
        return unit.removesuffix("es")
    return unit.removesuffix("s") if not unit.endswith("ss") else unit


def _plural(one: str) -> str:
    return f"{one}es" if one.endswith(("ch", "sh", "ss")) else f"{one}s"
