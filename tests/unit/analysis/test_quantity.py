"""Results with units: walked, tabled, and written for other programs."""

import json
import math
from typing import Annotated

import pytest
from numpy.testing import assert_allclose

from fourpatch.analysis import load_transfer, modes, single_track, speed_sweep, statics
from fourpatch.analysis.quantity import (
    ANGLE_GRADIENT,
    LENGTH,
    RATE,
    SPEED,
    Axles,
    Findings,
    Measure,
    columns,
    columns_table,
    json_ready,
    quantities,
    table,
)
from fourpatch.document.meaning import meaning
from fourpatch.units import to_si


class Ends(Findings):
    """A result for these tests."""

    name: str
    """What it is called."""
    wheel_rate: Annotated[Axles, RATE]
    """Force per travel."""
    top: Annotated[float | None, SPEED]
    """Fastest."""


class Whole(Findings):
    """A result of results."""

    ends: Ends
    height: Annotated[float, LENGTH]
    """Above the road."""


WHOLE = Whole(ends=Ends(name="one", wheel_rate=Axles(95e3, 80.5e3), top=None), height=0.4567)


def all_findings() -> list[type[Findings]]:
    found = []
    for module in (load_transfer, modes, single_track, speed_sweep, statics):
        for thing in vars(module).values():
            if isinstance(thing, type) and issubclass(thing, Findings) and thing is not Findings:
                found.append(thing)
    return list(dict.fromkeys(found))


def measures() -> list[Measure]:
    return list(
        dict.fromkeys(
            m
            for kind in all_findings()
            for field in kind.model_fields.values()
            for m in field.metadata
            if isinstance(m, Measure)
        )
    )


@pytest.mark.parametrize("kind", all_findings())
def test_every_number_has_a_measure_and_a_sentence(kind: type[Findings]) -> None:
    assert kind.__doc__
    for name, field in kind.model_fields.items():
        annotation = field.annotation
        inner = getattr(annotation, "__args__", (annotation,))[0]
        if annotation is str or (isinstance(inner, type) and issubclass(inner, Findings)):
            continue
        assert [m for m in field.metadata if isinstance(m, Measure)], name
        assert meaning(kind, name).endswith("."), name


@pytest.mark.parametrize("measure", measures(), ids=lambda m: m.shown)
def test_scales_are_those_of_the_unit_library(measure: Measure) -> None:
    # The library has no "g": it is taken at the 9.81 m/s^2 at which cars are weighed here.
    si, shown = measure.si, measure.shown
    if measure is ANGLE_GRADIENT:
        si, shown = "rad*s**2/m", "deg*s**2/m"
        expected = to_si(1.0, shown, si) / 9.81
    else:
        expected = to_si(1.0, shown, si)
    assert_allclose(measure.scale, expected, rtol=1e-12)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (95e3, "95.00"),
        (1234567.0, "1235"),
        (9.87654e7, "98765"),
        (0.5, "5.000e-04"),
        (0.0, "0"),
        (-0.0, "0"),
        (-12.3456e3, "-12.35"),
        (math.inf, "inf"),
        (None, "none"),
    ],
)
def test_numbers_to_four_figures(value: float | None, text: str) -> None:
    assert RATE.text(value) == text


def test_quantities_of_nested_results() -> None:
    found = {q.name: q for q in quantities(WHOLE)}
    assert list(found) == ["ends.wheel_rate", "ends.top", "height"]
    assert found["ends.wheel_rate"].places == ("front", "rear")
    assert found["ends.wheel_rate"].values == (95e3, 80.5e3)
    assert found["ends.top"].values == (None,)
    assert found["height"].meaning == "Above the road."


def test_table() -> None:
    lines = table(WHOLE).splitlines()
    assert lines[0] == "ends: wheel rate  95.00 / 80.50  N/mm  Force per travel."
    assert lines[2] == "height            456.7          mm    Above the road."


def test_columns_of_a_series() -> None:
    series = [WHOLE.ends, Ends(name="two", wheel_rate=Axles(1e3, 2e3), top=10.0)]
    found = columns(series)
    assert [(c.name, c.values) for c in found] == [
        ("wheel_rate front", (95e3, 1e3)),
        ("wheel_rate rear", (80.5e3, 2e3)),
        ("top", (None, 10.0)),
    ]
    head, first, second = columns_table(series).splitlines()
    assert head.split("  ")[-1] == "top [km/h]"
    assert first.startswith("one")
    assert second.endswith("36.00")
    assert columns([]) == []


def test_json_gives_every_number_its_unit() -> None:
    written = json.loads(json.dumps(json_ready(WHOLE), allow_nan=False))
    assert written["height"] == {"value": 0.4567, "unit": "m"}
    assert written["ends"]["name"] == "one"
    assert written["ends"]["top"] == {"value": None, "unit": "m/s"}
    assert written["ends"]["wheel_rate"] == {"value": {"front": 95e3, "rear": 80.5e3}, "unit": "N/m"}
    assert json_ready([WHOLE.ends])[0]["name"] == "one"
    assert json_ready(WHOLE.model_copy(update={"height": math.inf}))["height"]["value"] is None


def test_a_number_without_a_measure_is_refused() -> None:
    class Bare(Findings):
        """A fault."""

        rate: float
        """No unit."""

    with pytest.raises(TypeError, match="rate needs one Measure"):
        list(quantities(Bare(rate=1.0)))
