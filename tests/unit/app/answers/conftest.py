"""An answer to a complaint, worked out once for all who look at it."""

from collections.abc import Iterator
from threading import Event

import pytest

from fourpatch.answers.cure import WhatCures
from fourpatch.app.asking import Answered, Subject, ask
from fourpatch.app.jobs import Jobs
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car
from fourpatch.car.provenance import Provenance
from fourpatch.face.standing_car import car as standing

KEPT = ("front bar", "rear bar", "rear rebound, low speed", "cross weight")


@pytest.fixture(scope="package")
def text() -> str:
    return "pushes at mid-corner in medium corners"


@pytest.fixture(scope="package")
def few() -> Car:
    """A GT with few adjusters, so that the answer comes fast, one of its numbers estimated."""
    whole = demo_car("gt")
    spread = Provenance(source="estimated", method="for this test", spread="20 %")
    return whole.model_copy(
        update={
            "adjusters": [one for one in whole.adjusters if one.name in KEPT],
            "provenance": {**whole.provenance, "front.bar.rate": spread},
        }
    )


@pytest.fixture(scope="package")
def jobs() -> Iterator[Jobs]:
    made = Jobs()
    yield made
    made.close()


@pytest.fixture(scope="package")
def answered(few: Car, jobs: Jobs, text: str) -> Answered:
    job = ask(jobs, WhatCures(complaint=text, draws=4), Subject(car=7, about=standing(few)))
    over = Event()
    job.when_over(lambda _: over.set())
    assert over.wait(240.0)
    assert isinstance(job.result, Answered), job.error
    return job.result
