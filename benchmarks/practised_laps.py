"""How near does a driver who practises come to the quasi-steady lap? The table of docs/practised-laps.md.

The demo cars and cars estimated from briefs that a seed draws, on the demo tracks and on one of corners that
the seed draws. ``--write`` puts the table into the page.
"""

import argparse
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from rig_and_drive import drawn_cars

from fourpatch.analysis.lap_drive import DRIVER_MARGIN, ready_to_drive
from fourpatch.car.car import Car
from fourpatch.car.demo import demo_car, demo_names
from fourpatch.errors import FourpatchError
from fourpatch.track.builder import Section, SectionLine, StraightSection, corner
from fourpatch.track.demo import demo_track, demo_track_names
from fourpatch.track.racing_line import FLAT_KERB
from fourpatch.track.track import ClassSurface, Road, Track, Width

PAGE = Path(__file__).parents[1] / "docs" / "practised-laps.md"
CORNERS = 9


@dataclass(frozen=True, slots=True)
class Lap:
    """One car on one track."""

    car: str
    track: str
    quasi_steady: float
    """[s]"""
    all_round: float
    """At the highest pace borne all round. [s]"""
    practised: float
    """[s]"""
    laps: int
    took: float
    """[s]"""

    def behind(self, time: float) -> float:
        """Time over the quasi-steady one. [%]"""
        return 100.0 * (time / self.quasi_steady - 1.0)


def drawn_track(seed: int) -> Track:
    """Draw a smooth road of corners and straights."""
    random = np.random.default_rng(seed)
    sections: list[Section] = [StraightSection(length=200.0)]
    for _ in range(CORNERS):
        radius, angle = float(random.uniform(20.0, 150.0)), float(random.uniform(0.5, 2.2))
        direction = "left" if random.random() < 0.5 else "right"
        easement = float(random.uniform(0.2, 0.5)) * angle * radius
        sections += corner(radius=radius, angle=angle, direction=direction, easement=easement)
        sections.append(StraightSection(length=float(random.uniform(60.0, 400.0))))
    return Track(
        name="drawn",
        centre_line=SectionLine(closed=False, sections=sections),
        road=Road(
            width=[Width(distance=0.0, left=5.0, right=5.0)],
            surface=[ClassSurface(start=0.0, kind="road-class", road_class="A")],
        ),
    )


def driven(car: Car, track: Track) -> Lap:
    """Let a driver practise."""
    began = time.perf_counter()
    ready = ready_to_drive(
        car,
        track,
        style=None,
        pace=None,
        margin=DRIVER_MARGIN,
        kerb_share=0.0,
        flat_kerb=FLAT_KERB,
        seed=1,
        practised=True,
    )
    assert ready.search is not None
    assert ready.practice is not None
    return Lap(
        car=car.name,
        track=track.name,
        quasi_steady=ready.plan.profile.lap_time,
        all_round=ready.search.best_lap_time,
        practised=ready.practice.lap_time,
        laps=ready.practice.laps,
        took=time.perf_counter() - began,
    )


def all_laps(cars: list[Car], tracks: list[Track], refused: list[str]) -> Iterator[Lap]:
    """Drive every car on every track; say what is refused."""
    for track in tracks:
        for car in cars:
            try:
                lap = driven(car, track)
            except FourpatchError as error:
                refused.append(f"{car.name}, {track.name}: {error}")
                print(refused[-1], flush=True)
                continue
            print(
                f"{lap.car}, {lap.track}: {lap.behind(lap.all_round):.1f} -> "
                f"{lap.behind(lap.practised):.1f} %, {lap.took:.1f} s",
                flush=True,
            )
            yield lap


def page(laps: list[Lap], refused: list[str], seed: int) -> str:
    """Return the page."""
    lines = [
        "<!-- Made by benchmarks/practised_laps.py --write: change that, not this page. -->",
        "",
        "# Practised laps beside the quasi-steady lap",
        "",
        "The quasi-steady lap uses all of the grip everywhere, with pedals that act at once, on a",
        "smooth road. A driver who practises comes so near (`run lap`; how:",
        "[conventions.md](conventions.md)). *All round*: at the highest pace that he bears all round",
        "alike, which is what was shown before he practised. In per cent of the quasi-steady lap time.",
        f"Cars and tracks are invented; the drawn ones are of the seed {seed}; the drawn track is smooth",
        "(class A), *Demo chicanes* has bumps and kerbs.",
        "",
    ]
    for track in dict.fromkeys(one.track for one in laps):
        own = [one for one in laps if one.track == track]
        practised = np.array([one.behind(one.practised) for one in own])
        before = np.array([one.behind(one.all_round) for one in own])
        lines += [
            f"## {track}",
            "",
            f"{len(own)} cars: {np.median(before):.1f} % behind in the median all round, "
            f"{np.median(practised):.1f} % after practice; within 2 %: {(practised <= 2.0).sum()}, "
            f"within 4 %: {(practised <= 4.0).sum()}; quicker than the quasi-steady lap: "
            f"{(practised < 0.0).sum()}, by {max(0.0, -practised.min()):.1f} % at the most.",
            "",
            "| car | quasi-steady | all round | practised | laps | time |",
            "| --- | --- | --- | --- | --- | --- |",
            *(
                f"| {one.car} | {one.quasi_steady:.2f} s | {one.all_round:.2f} s, "
                f"{one.behind(one.all_round):+.1f} % | {one.practised:.2f} s, "
                f"{one.behind(one.practised):+.1f} % | {one.laps} | {one.took:.0f} s |"
                for one in own
            ),
            "",
        ]
    if refused:
        lines += ["## Refused", "", *(f"- {one}" for one in refused), ""]
    return "\n".join(lines)


def main() -> None:
    """Drive, print and, if asked, write the page."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--smallest", action="store_true", help="one car, one track: to see that it runs")
    parser.add_argument("--cars", type=int, default=20, help="how many cars are drawn")
    parser.add_argument("--seed", type=int, default=2026)
    parser.add_argument("--write", action="store_true", help="write docs/practised-laps.md")
    options = parser.parse_args()
    cars = [demo_car(name) for name in demo_names()]
    tracks = [*(demo_track(name) for name in demo_track_names()), drawn_track(options.seed)]
    if options.smallest:
        cars, tracks = cars[:1], tracks[-1:]
    else:
        cars += list(drawn_cars(options.cars, options.seed))
    refused: list[str] = []
    laps = list(all_laps(cars, tracks, refused))
    if options.write:
        PAGE.write_text(page(laps, refused, options.seed), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
