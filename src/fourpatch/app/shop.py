"""What all tabs share: the notebook, the jobs, and the workouts already prepared."""

import json
from collections import OrderedDict
from collections.abc import Mapping
from threading import Lock

from fourpatch.analysis.workout import RigEvent, Workout, workout
from fourpatch.app.jobs import Jobs
from fourpatch.app.state import Desk
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car
from fourpatch.car.setup import Setup, apply_setup, baseline_setup

MOST_WORKOUTS = 16
"""Prepared workouts that are kept; one is a few megabytes."""


class Shop:
    """Made once when the app starts, handed to every page."""

    def __init__(self) -> None:
        self._workouts: OrderedDict[str, Workout] = OrderedDict()
        self._lock = Lock()
        self.jobs = Jobs()

    def workout(self, car: Car, reference: Setup, events: Mapping[str, RigEvent] | None = None) -> Workout:
        """Return the workout of a car with a reference set-up, prepared at the first call.

        Parameters
        ----------
        events : by name; the standard ones if left out.
        """
        standing = apply_setup(car, reference)
        asked = {name: event.model_dump_json() for name, event in (events or {}).items()}
        key = standing.model_dump_json() + json.dumps(asked)
        with self._lock:
            if key in self._workouts:
                self._workouts.move_to_end(key)
                return self._workouts[key]
        prepared = workout(standing, events)
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
