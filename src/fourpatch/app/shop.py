"""What all tabs share: the notebook, the jobs, and the workouts already prepared."""

from collections import OrderedDict
from threading import Lock

from fourpatch.analysis.workout import Workout, workout
from fourpatch.app.jobs import Jobs
from fourpatch.app.state import Desk
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car
from fourpatch.car.setup import Setup, apply_setup, baseline_setup

MOST_WORKOUTS = 8
"""Prepared workouts that are kept; one is a few megabytes."""


class Shop:
    """Made once when the app starts, handed to every page."""

    def __init__(self) -> None:
        self._workouts: OrderedDict[str, Workout] = OrderedDict()
        self._lock = Lock()
        self.jobs = Jobs()

    def workout(self, car: Car, reference: Setup) -> Workout:
        """Return the workout of a car with a reference set-up, prepared at the first call."""
        standing = apply_setup(car, reference)
        key = standing.model_dump_json()
        with self._lock:
            if key in self._workouts:
                self._workouts.move_to_end(key)
                return self._workouts[key]
        prepared = workout(standing)
        with self._lock:
            self._workouts[key] = prepared
            while len(self._workouts) > MOST_WORKOUTS:
                self._workouts.popitem(last=False)
        return prepared

    def desk(self, car: str) -> Desk:
        """Return a desk with what a page's address names on it."""
        key = car or "gt"
        opened = demo_car(key)
        start = baseline_setup(opened)
        return Desk(car_key=key, car=opened, a=start, b=start)

    def close(self) -> None:
        """Stop what runs."""
        self.jobs.close()
