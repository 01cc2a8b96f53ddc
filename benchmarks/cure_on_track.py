#!/usr/bin/env python3
"""How long does a complaint take on a track of twelve corners: the first ranking, and the full answer?

A lap of twelve corners is generated, three alike thirds of four corners, closed by symmetry; the demo GT with
27 of its adjusters and a stated spread complains about entries everywhere. Timed are the course (line, limits
and lap of the car as it stands), the first ranking, the cure with the lap of every set, what the drive says
of them, and the plausible cars, each on the clock and in processor time, after a warm-up that is not timed.
Timings never decide a test.
"""

import argparse
import os
import time
from collections.abc import Callable
from typing import TypeVar

from fourpatch.advice.complaint_text import read_complaint
from fourpatch.advice.course import track_course
from fourpatch.advice.cure import cure, first_ranking
from fourpatch.advice.draws import sureness
from fourpatch.advice.drive_check import drive_check
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car
from fourpatch.car.provenance import Provenance
from fourpatch.car.setup import apply_setup, baseline_setup
from fourpatch.track.builder import ArcSection, ClothoidSection, Section, SectionLine, StraightSection
from fourpatch.track.track import ClassSurface, Road, Track, Width

T = TypeVar("T")

ADJUSTERS, DRAWS, THIRDS = 27, 32, 3
SPREAD = ("front.bar.rate", "rear.bar.rate", "chassis.cg_height", "front.spring.rate", "rear.spring.rate")

# Radius [m], angle [rad] to the left, straight before [m]: four corners of a third of a lap. The angles
# add up to a third of a full turn, so three such thirds close.
THIRD = ((25.0, 2.0, 260.0), (60.0, -1.3, 140.0), (90.0, 0.9, 220.0), (40.0, 0.4944, 180.0))
CLOTHOID = 15.0


def twelve_corners() -> Track:
    """Return a lap of twelve corners, invented."""
    sections: list[Section] = []
    for _ in range(THIRDS):
        for radius, angle, straight in THIRD:
            turned = abs(angle) - CLOTHOID / radius
            direction = "left" if angle > 0.0 else "right"
            sections += [
                StraightSection(length=straight),
                ClothoidSection(length=CLOTHOID),
                ArcSection(radius=radius, angle=max(turned, 0.0), direction=direction),
                ClothoidSection(length=CLOTHOID),
            ]
    return Track(
        name="Twelve corners",
        note="Invented: three alike thirds.",
        centre_line=SectionLine(closed=True, largest_change=0.01, sections=sections),
        road=Road(
            width=[Width(distance=0.0, left=6.0, right=6.0)],
            surface=[ClassSurface(start=0.0, road_class="B")],
        ),
    )


def with_spreads(car: Car, adjusters: int) -> Car:
    """Return a car with its first adjusters and a stated spread of what is often estimated."""
    given = Provenance(source="estimated", method="for this benchmark", spread="20 %")
    return car.model_copy(
        update={
            "adjusters": car.adjusters[:adjusters],
            "provenance": {**car.provenance, **dict.fromkeys(SPREAD, given)},
        }
    )


def timed(label: str, work: Callable[[], T]) -> T:
    """Do work and print how long it took."""
    clock, processor = time.perf_counter(), time.process_time()
    done = work()
    print(
        f"{label:<34} {time.perf_counter() - clock:6.2f} s on the clock "
        f"{time.process_time() - processor:6.2f} s of processor",
        flush=True,
    )
    return done


def main() -> None:
    """Time the parts of an answer."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument(
        "--smallest", action="store_true", help="two adjusters and draws: to see that it runs"
    )
    smallest = parser.parse_args().smallest
    car = with_spreads(demo_car("gt"), 2 if smallest else ADJUSTERS)
    setup, track = baseline_setup(car), twelve_corners()
    standing = apply_setup(car, setup)
    text = "pushes on entry"
    complaints = read_complaint(text).complaints
    few = with_spreads(car, 2)
    warm = cure(few, baseline_setup(few), complaints, track=track)
    sureness(few, baseline_setup(few), warm, draws=2)
    drive_check(few, [few], warm.targets, warm.course, warm.driven)
    course = timed("the course", lambda: track_course(standing, track))
    print(f'"{text}", {len(car.adjusters)} adjusters, {len(course.corners)} corners, {os.cpu_count()} cores')
    timed("first ranking, no track", lambda: first_ranking(car, setup, complaints))
    timed("first ranking, course known", lambda: first_ranking(car, setup, complaints, course=course))
    found = timed("cure, course known", lambda: cure(car, setup, complaints, course=course))
    changed = [apply_setup(car, one.setup) for one in found.sets]
    timed(
        f"the drive of {len(changed)} sets",
        lambda: drive_check(standing, changed, found.targets, course, found.driven),
    )
    draws = 2 if smallest else DRAWS
    timed(f"{draws} plausible cars", lambda: sureness(car, setup, found, draws=draws))


if __name__ == "__main__":
    main()
