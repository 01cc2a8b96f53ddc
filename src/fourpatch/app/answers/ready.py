"""An answer that is there before the engine is: one setting of a demo car turned, computed beforehand."""

from pathlib import Path

from pydantic import BaseModel, Field

from fourpatch.analysis.workout import workout
from fourpatch.app.answers.bench import BenchAnswer, bench_answer, corner_notes
from fourpatch.app.words import driven_end
from fourpatch.car.adjusters import adjuster
from fourpatch.car.demo import demo_car
from fourpatch.car.scale_words import from_to
from fourpatch.car.setup import apply_setup, baseline_setup

KEPT = Path(__file__).parents[1] / "ready_answer.json"
"""Written by docs/generate.py."""

_CAR, _ADJUSTER, _STEPS = "gt", "front bar", 2
_DIGITS = 6  # of a number, far below what is shown


class ReadyAnswer(BaseModel):
    """What the bench answers to one turn."""

    car: str
    turned: str = Field(description="The setting, from where to where.")
    driven: str = Field(description="Axle that is driven alone; empty for both.")
    notes: dict[str, str] = Field(description="Radius and speed, by corner.")
    answer: BenchAnswer


def ready_answer() -> ReadyAnswer:
    """Return what was computed when this version was made."""
    return ReadyAnswer.model_validate_json(KEPT.read_text(encoding="utf-8"))


def computed_answer() -> ReadyAnswer:
    """Return the same, computed now."""
    car = demo_car(_CAR)
    setup = baseline_setup(car)
    one = adjuster(car, _ADJUSTER)
    before, after = setup.position(one), setup.position(one) + _STEPS * one.step
    turned = setup.model_copy(update={"values": {**setup.values, one.name: after}})
    made = workout(apply_setup(car, setup), None, car)
    answer = bench_answer(made.measure(apply_setup(car, turned)))
    cells = [
        cell.model_copy(update={"value": _rounded(cell.value), "reference": _rounded(cell.reference)})
        for cell in answer.cells
    ]
    return ReadyAnswer(
        car=car.name,
        turned=f"{one.name} {from_to(before, after, one.unit)}",
        driven=driven_end(car),
        notes=corner_notes(made),
        answer=answer.model_copy(update={"cells": cells}),
    )


def kept_answer() -> str:
    """Return what is computed now as it is kept."""
    return f"{computed_answer().model_dump_json(indent=1)}\n"


def _rounded(value: float) -> float:
    return float(f"{value:.{_DIGITS}g}")
