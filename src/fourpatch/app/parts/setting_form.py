"""The settings of a question as fields: a slider for a quantity, a list for one of several words."""

import math
from collections.abc import Callable
from functools import partial
from typing import Any

from fourpatch.app.parts.choice import Choice
from fourpatch.app.parts.quantity_field import QuantityField
from fourpatch.document.fields import choices_of, unit_of
from fourpatch.document.meaning import meaning
from fourpatch.document.part import Part
from fourpatch.picture.shown import words
from fourpatch.units import Unit, to_si


def setting_form(model: type[Part], told: Callable[[str, Any], None]) -> None:
    """Draw a field for each setting that has a value to begin with.

    Parameters
    ----------
    told : the name of a setting and its new value, SI.
    """
    for name, field in model.model_fields.items():
        label, says = words(name).capitalize(), meaning(model, name)
        unit, choices = unit_of(field), choices_of(field)
        if choices:
            begin = choices[0] if field.is_required() else str(field.default)
            told(name, begin)
            options = {one: words(one) for one in choices}
            Choice(label, options, begin, on_choose=partial(told, name), tell=says)
        elif unit is not None and field.default is not None:
            change = partial(told, name)
            QuantityField(label, unit, field.default, step=_step(unit), on_change=change, tell=says)


def _step(unit: Unit) -> float:
    """Return a step of a slider, in the shown unit: a hundredth of the range or less, 1, 10, 0.1 ..."""
    across = (unit.high - unit.low) / to_si(1.0, unit.shown, unit.si)
    return float(10.0 ** math.floor(math.log10(across / 100.0)))
