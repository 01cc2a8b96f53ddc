"""What we write we read back, to the last bit: quantities, cars, set-ups."""

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fourpatch.car import parameters as schema
from fourpatch.car.adjusters import Adjuster
from fourpatch.car.car import Car
from fourpatch.car.parameters import (
    LockedDifferential,
    MagicFormulaTyre,
    MeasuredDamper,
    OpenDifferential,
    PlateDifferential,
    TorqueBiasingDifferential,
    ViscousDifferential,
)
from fourpatch.car.paths import parameters, replace_parameters
from fourpatch.car.provenance import Provenance
from fourpatch.car.setup import Setup, apply_setup, baseline_setup, step
from fourpatch.car.writing import car_text, setup_text
from fourpatch.document.fault import Key
from fourpatch.document.lines import Lines
from fourpatch.document.part import Part
from fourpatch.units import FROM_FILE, Unit

patient = settings(deadline=None)  # the first example may load the unit library

PAGE = Path(__file__).parents[2] / "docs" / "car-file.md"
SALOON = Car.model_validate(
    tomllib.loads(PAGE.read_text(encoding="utf-8").split("```toml\n")[-1].split("```")[0]), context=FROM_FILE
)


def units() -> list[Unit]:
    """Return every unit a parameter has, once."""
    found: dict[Unit, None] = {}
    for kind in vars(schema).values():
        fields = kind.model_fields.values() if isinstance(kind, type) and issubclass(kind, Part) else ()
        for field in fields:
            elements = [m for a in get_args(field.annotation) for m in getattr(a, "__metadata__", ())]
            found |= dict.fromkeys(m for m in (*field.metadata, *elements) if isinstance(m, Unit))
    return list(found)


UNITS = units()


def within(unit: Unit) -> st.SearchStrategy[float]:
    """Numbers in a unit's range: any at all, and those a person would write."""
    return st.floats(unit.low, unit.high) | st.integers(0, 1000).map(
        lambda share: min(unit.low + (unit.high - unit.low) * share / 1000, unit.high)
    )


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: f"{unit.shown} {unit.low} {unit.high}")
@patient
@given(data=st.data())
def test_every_quantity_reads_back_exactly(unit: Unit, data: st.DataObject) -> None:
    value = data.draw(within(unit))
    assert unit.check(unit.parse(unit.show(value))) == value


@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: f"{unit.shown} {unit.low} {unit.high}")
@settings(deadline=None, max_examples=30)
@given(data=st.data())
def test_any_usual_unit_reads_the_same_quantity(unit: Unit, data: st.DataObject) -> None:
    value = data.draw(within(unit))
    for other in unit.usual_units():
        written = Unit(unit.si, other, unit.low, unit.high).show(value)
        assert unit.parse(written) == value


# Cars: the saloon with numbers drawn at random, and with every kind of part somewhere in it.

VARIANTS: dict[str, Part] = {
    "open": OpenDifferential(),
    "plate": PlateDifferential(kind="plate", preload=60.0, power_lock=0.3, coast_lock=0.5),
    "torque-biasing": TorqueBiasingDifferential(kind="torque-biasing", bias_ratio=2.5),
    "viscous": ViscousDifferential(kind="viscous", rate=12.0),
    "locked": LockedDifferential(kind="locked"),
}
PUBLISHED_TYRE = MagicFormulaTyre(
    kind="magic-formula", nominal_load=4000.0, coefficients={"pCy1": 1.3507, "pDy1": 1.0489, "pKy1": -21.92}
)
NAMES = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=40)


@st.composite
def cars(draw: st.DrawFn) -> Car:
    """Draw a car that can be written, though not always driven."""
    car = SALOON
    differentials = {
        f"{end}_differential": draw(st.sampled_from(list(VARIANTS.values()))) for end in ("front", "rear")
    }
    car = changed(car, driveline=car.driveline.model_copy(update=differentials))
    if draw(st.booleans()):
        car = changed(car, rear=changed(car.rear, tyre=changed(car.rear.tyre, grip=PUBLISHED_TYRE)))
    if draw(st.booleans()):
        car = changed(
            car,
            front=changed(car.front, damper=car.rear.damper),
            rear=changed(car.rear, damper=car.front.damper),
        )
    ordered = (
        "driveline.engine_speed.",
        "driveline.gear_ratios.",
        "front.damper.speed.",
        "rear.damper.speed.",
    )
    free = [p for p in parameters(car) if not p.path.startswith(ordered) and ".heave." not in p.path]
    some = draw(st.lists(st.sampled_from(free), unique_by=lambda p: p.path, max_size=40))
    car = replace_parameters(car, {p.path: draw(within(p.unit)) for p in some})
    provenance = draw(
        st.dictionaries(st.sampled_from(["car", *(p.path for p in free)]), origins(), max_size=4)
    )
    return changed(car, name=draw(NAMES), note=draw(st.text(max_size=60)), provenance=provenance)


def changed(part: Any, **values: Any) -> Any:
    """Return a part with some attributes replaced."""
    return part.model_copy(update=values)


def origins() -> st.SearchStrategy[Provenance]:
    """Draw provenance of any source."""
    text = st.text(min_size=1, max_size=20)
    return st.one_of(
        st.builds(Provenance, source=st.just("given"), spread=st.sampled_from(["", "5 %"])),
        st.builds(Provenance, source=st.just("estimated"), method=text, spread=st.just("0.1 %")),
        st.builds(Provenance, source=st.just("identified"), recording=text, spread=st.just("20 %")),
        st.builds(Provenance, source=st.just("demo"), method=st.text(max_size=20)),
    )


@patient
@given(cars())
def test_every_car_reads_back_the_same(car: Car) -> None:
    back = Car.model_validate(tomllib.loads(car_text(car)), context=FROM_FILE)
    assert back == car
    assert [(p.path, repr(p.value)) for p in parameters(back)] == [
        (p.path, repr(p.value)) for p in parameters(car)
    ]


@patient
@given(cars())
def test_writing_twice_changes_nothing(car: Car) -> None:
    text = car_text(car)
    assert car_text(Car.model_validate(tomllib.loads(text), context=FROM_FILE)) == text


@patient
@given(cars())
def test_every_number_of_a_written_car_is_found_on_its_line(car: Car) -> None:
    text = car_text(car)
    lines = Lines(text)
    rows = text.split("\n")
    for one in parameters(car):
        names = one.path.split(".")
        key: Key = tuple(int(name) - 1 if name.isdecimal() else name for name in names)
        line = lines.of(key)
        assert line is not None
        last = next(name for name in reversed(names) if not name.isdecimal())
        assert f"{last} = " in rows[line - 1]


def test_cars_drawn_here_have_every_part_there_is() -> None:
    seen: set[type[Part]] = set()

    def walk(part: Part) -> Iterator[type[Part]]:
        yield type(part)
        for value in part.__dict__.values():
            if isinstance(value, Part):
                yield from walk(value)

    for part in (SALOON, PUBLISHED_TYRE, *VARIANTS.values()):
        seen |= set(walk(part))
    known = {kind for kind in vars(schema).values() if isinstance(kind, type) and issubclass(kind, Part)}
    assert known - {Part} <= seen
    assert any(isinstance(axle.damper, MeasuredDamper) for axle in (SALOON.front, SALOON.rear))
    maps = set(get_args(Adjuster.model_fields["map"].annotation))
    assert {type(one.map) for one in SALOON.adjusters} | {type(CURVE.map)} == maps


CURVE = Adjuster.model_validate(
    {
        "name": "camber shims",
        "system": "camber and toe",
        "axle": "front",
        "targets": ["front.camber"],
        "lowest": 0,
        "highest": 10,
        "baseline": 2,
        "stiffer": "none",
        "more_means": "less lean",
        "map": {"kind": "curve", "coefficients": [-3.1, 0.29999999999999993, 1e-05], "unit": "deg"},
    }
)


@patient
@given(
    st.builds(
        Adjuster,
        name=NAMES,
        system=st.sampled_from(["dampers", "aero"]),
        axle=st.just("front"),
        targets=st.just(["front.camber"]),
        sets=st.sampled_from(["value", "factor"]),
        unit=st.text(max_size=8),
        lowest=st.integers(-5, 0).map(float),
        highest=st.integers(1, 9).map(float),
        step=st.just(0.25),
        baseline=st.sampled_from([0.0, 0.25, 1.0]),
        stiffer=st.sampled_from(["up", "down", "none"]),
        more_means=NAMES,
        map=st.sampled_from([CURVE.map, *(one.map for one in SALOON.adjusters if one.map.kind != "unknown")]),
        provenance=st.none() | origins(),
    )
)
def test_every_adjuster_reads_back_the_same(one: Adjuster) -> None:
    car = SALOON.model_copy(update={"adjusters": [*SALOON.adjusters, one]})
    back = Car.model_validate(tomllib.loads(car_text(car)), context=FROM_FILE)
    assert back.adjusters == car.adjusters


@st.composite
def setups(draw: st.DrawFn) -> Setup:
    """Draw a set-up of the saloon."""
    chosen = draw(st.lists(st.sampled_from(SALOON.adjusters), unique_by=lambda one: one.name))
    values = {one.name: draw(st.sampled_from(one.positions())) for one in chosen}
    return Setup(name=draw(NAMES), car=SALOON.name, note=draw(st.text(max_size=60)), values=values)


@patient
@given(setups(), st.booleans())
def test_every_setup_reads_back_the_same(setup: Setup, with_car: bool) -> None:
    text = setup_text(setup, SALOON if with_car else None)
    assert Setup.model_validate(tomllib.loads(text), context=FROM_FILE) == setup


@patient
@given(setups())
def test_every_setup_in_range_makes_a_car_and_back_at_baseline_the_same_car(setup: Setup) -> None:
    apply_setup(SALOON, setup)
    assert apply_setup(SALOON, baseline_setup(SALOON)) == SALOON


@patient
@given(setups(), st.sampled_from(SALOON.adjusters), st.integers(-5, 5))
def test_a_step_and_back_is_the_same_place(setup: Setup, one: Adjuster, steps: int) -> None:
    there = step(setup, one, steps)
    if there is not None:
        back = step(there, one, -steps)
        assert back is not None
        assert back.position(one) == setup.position(one)
        moved = abs(there.position(one) - setup.position(one))
        # rounding of a difference of two decimals
        assert moved == pytest.approx(abs(steps) * one.step, abs=1e-9)
