#!/usr/bin/env python3
"""Does the advice help who complains in plain words? Cars, tracks and faults are drawn anew from a seed.

A car is estimated from a brief whose numbers are drawn, and counts as good. One or two adjusters are turned;
what that makes worst is said in a driver's words, without an amount; the first change is made, then what the
answer says should follow when the car still does it or does the opposite. Beside it the same with the good
set-up told. ``--write`` puts the table, failures included, into docs/advice-in-words.md.

python benchmarks/advice_in_words.py --seed 1 [--cars 7] [--cases 3] [--tracks 2] [--keep FILE] [--write]
"""

import argparse
import json
import sys
import textwrap
import zlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from math import sqrt
from pathlib import Path
from typing import Any

import numpy as np
from cure_round_trip import table

from fourpatch.advice.answered import answered
from fourpatch.advice.change_set import changed_setup, left_alone
from fourpatch.advice.complaint_text import read_complaint
from fourpatch.advice.course import Course, standard_course, track_course
from fourpatch.advice.cure import Cure, cure
from fourpatch.advice.draws import sureness
from fourpatch.advice.sensitivity import measured
from fourpatch.advice.sets import Changes
from fourpatch.advice.target import Target, target_of
from fourpatch.car.car import Car
from fourpatch.car.estimate import CarBrief, estimate_car
from fourpatch.car.setup import Setup, apply_setup, baseline_setup
from fourpatch.errors import FourpatchError
from fourpatch.events.trial import Trial
from fourpatch.track.sketch import lay_sketch, read_sketch, sketched_track
from fourpatch.track.track import Track

PAGE = Path(__file__).parents[1] / "docs" / "advice-in-words.md"

FELT = 5.0
"""Times what is hardly measurable that must be lost before a driver complains: half a point of balance."""

HARDLY_BETTER = 1.0 / 3.0
"""Share of what was lost below which a driver calls what he won back hardly any better."""

WON, TOO_MUCH = 0.8, 1.4
OPPOSED_WORSE = -0.05
DRAWS = 12

SAID = {
    "pushes on entry": "",
    "pushes at mid-corner": "",
    "pushes on exit": "",
    "loose on entry": "",
    "loose at mid-corner": "",
    "loose on exit": "",
    "locks fronts": "",
    "locks rears": "",
    "hops over bumps": "",
    "thrown off kerbs": "",
    "bottoms": "",
}
"""What a driver may say; which of it a fault makes worst is computed."""

OPPOSED = (
    "pushes mid, loose on exit",
    "loose on entry, pushes on exit",
    "pushes on entry, loose at mid-corner",
    "loose under braking, pushes mid",
)

KINDS: Mapping[str, Mapping[str, Any]] = {
    "rear-engined": {
        "mass": (1150.0, 1500.0), "front_weight_share": (0.38, 0.42), "wheelbase": (2.25, 2.5),
        "power": (2.2e5, 4e5), "driven": ("rear",), "body": ("saloon",), "grip": ("sport-road", "semi-slick"),
        "downforce": ("none", "low"), "tyres": (("235/40R18", "295/35R18"), ("225/40R18", "265/35R18")),
    },
    "all-wheel drive": {
        "mass": (1350.0, 1750.0), "front_weight_share": (0.53, 0.59), "wheelbase": (2.5, 2.8),
        "power": (1.8e5, 3.5e5), "driven": ("all",), "body": ("saloon", "hatchback"),
        "grip": ("road", "sport-road", "semi-slick"), "downforce": ("none", "low"),
        "tyres": (("235/40R18", "235/40R18"), ("245/40R18", "245/40R18")),
    },
    "front-wheel drive": {
        "mass": (950.0, 1350.0), "front_weight_share": (0.59, 0.64), "wheelbase": (2.4, 2.65),
        "power": (8e4, 2.2e5), "driven": ("front",), "body": ("hatchback",), "grip": ("road", "semi-slick"),
        "downforce": ("none",), "tyres": (("205/45R16", "205/45R16"), ("225/40R18", "225/40R18")),
    },
    "light": {
        "mass": (520.0, 720.0), "front_weight_share": (0.44, 0.5), "wheelbase": (2.2, 2.4),
        "power": (8e4, 1.7e5), "driven": ("rear",), "body": ("sports",), "grip": ("semi-slick", "slick"),
        "downforce": ("none", "low"), "tyres": (("185/60R13", "205/60R13"), ("195/50R15", "195/50R15")),
    },
    "downforce": {
        "mass": (650.0, 950.0), "front_weight_share": (0.43, 0.48), "wheelbase": (2.6, 2.95),
        "power": (2.5e5, 4.5e5), "driven": ("rear",), "body": ("single-seater", "sports"), "grip": ("slick",),
        "downforce": ("high", "moderate"), "tyres": (("245/40R18", "305/35R18"),),
    },
    "mid-engined": {
        "mass": (1200.0, 1500.0), "front_weight_share": (0.41, 0.46), "wheelbase": (2.5, 2.7),
        "power": (3e5, 5e5), "driven": ("rear",), "body": ("sports",), "grip": ("semi-slick", "slick"),
        "downforce": ("low", "moderate"), "tyres": (("245/35R19", "305/30R19"),),
    },
    "front-engined": {
        "mass": (1050.0, 1500.0), "front_weight_share": (0.5, 0.56), "wheelbase": (2.35, 2.8),
        "power": (1e5, 3.5e5), "driven": ("rear",), "body": ("saloon",), "grip": ("road", "semi-slick"),
        "downforce": ("none",), "tyres": (("205/50R16", "205/50R16"), ("225/45R17", "245/40R17")),
    },
}  # fmt: skip
"""Ranges in which a brief is drawn; invented, of the size of such cars (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One fault, what was said of it, and how far each way of asking came."""

    car: str
    where: str
    spoiled: str
    said: str
    lost: float
    """In what is hardly measurable of the number."""
    first: str
    won: Mapping[str, float] = field(default_factory=dict)
    """Share of what was lost that each way wins back; a way without an answer is left out."""
    away: Mapping[str, float] = field(default_factory=dict)
    """RMS distance of all balances from the good car's, over that of the spoiled car."""
    stated: tuple[float, float] = (float("nan"), float("nan"))
    """Share of plausible cars in which the first set helps, and in which it does all that is wanted."""
    true: tuple[bool, bool] = (False, False)
    """Whether it does in a car drawn beside them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Opposed:
    """Two complaints that pull against each other, and what was answered."""

    car: str
    said: str
    progress: tuple[float, ...]
    """Of the first set."""
    worsened: int
    """Sets that make one of the two worse."""
    trade_off: bool
    explained: bool
    """Whether each complaint is answered by the first set, or it is said why not."""


def drawn_car(kind: str, generator: np.random.Generator) -> Car:
    """Return a car of a kind: a drawn brief, estimated."""
    spec = KINDS[kind]

    def between(name: str) -> float:
        return float(generator.uniform(*spec[name]))

    def among(name: str) -> Any:
        return spec[name][int(generator.integers(len(spec[name])))]

    front, rear = among("tyres")
    while True:
        brief = CarBrief(
            name=f"Drawn {kind}",
            mass=between("mass"),
            front_weight_share=between("front_weight_share"),
            wheelbase=between("wheelbase"),
            driven=among("driven"),
            power=between("power"),
            front_tyre=front,
            rear_tyre=rear,
            grip=among("grip"),
            body=among("body"),
            downforce=among("downforce"),
        )
        try:
            car = estimate_car(brief)
            standard_course(car)
        except FourpatchError as error:
            print(f"{kind}: drawn again: {error}", file=sys.stderr)
            continue
        return car


def drawn_track(number: int, car: Car, generator: np.random.Generator) -> Track:
    """Return a track whose straights and corners are drawn, and which a car can go round."""
    while True:
        lines = []
        for place in range(int(generator.integers(6, 10))):
            lines.append(f"straight {generator.integers(80, 600)} m")
            side = "right" if generator.random() < 0.7 else "left"
            radius, angle = generator.integers(18, 140), generator.integers(40, 140)
            lines.append(f"{side}, {radius} m, {angle} deg")
            if place % 3 == 2:
                lines.append(f"{'left' if side == 'right' else 'right'}, {radius + 10} m, 60 deg")
        try:
            laid = lay_sketch(read_sketch("\n".join(lines)))
            track = sketched_track(laid, name=f"Drawn track {number}", width=12.0)
            track_course(car, track)
            return track
        except FourpatchError as error:
            print(f"track {number}: drawn again: {error}", file=sys.stderr)


def spoiled_setups(
    car: Car, good: Setup, count: int, generator: np.random.Generator
) -> Iterator[tuple[str, Setup]]:
    """Yield set-ups with one or two adjusters turned by two to four steps."""
    free = [k for k, one in enumerate(car.adjusters) if not left_alone(one)]
    for _ in range(count):
        changes: Changes = ()
        for place in generator.choice(free, size=int(generator.integers(1, 3)), replace=False):
            one = car.adjusters[int(place)]
            down = round((good.position(one) - one.lowest) / one.step)
            up = round((one.highest - good.position(one)) / one.step)
            sign = 1 if generator.random() < 0.5 else -1
            if not (up if sign > 0 else down):
                sign = -sign
            steps = min(int(generator.integers(2, 5)), up if sign > 0 else down)
            changes = (*changes, (int(place), sign * steps))
        yield text_of(car, changes), changed_setup(good, car.adjusters, changes, "spoiled")


def text_of(car: Car, changes: Changes) -> str:
    """Return changes in short."""
    return ", ".join(f"{car.adjusters[place].name} {steps:+d}" for place, steps in changes) or "none"


def cases(
    car: Car, track: Track | None, count: int, generator: np.random.Generator, draws: int
) -> Iterator[Case]:
    """Yield the cases of a car: faults that a driver feels."""
    good = baseline_setup(car)
    course = track_course(car, track) if track else standard_course(car)
    targets: dict[str, Target] = {}
    for text in SAID:
        try:
            targets[text] = target_of(read_complaint(text).complaints[0], car, course)
        except FourpatchError:
            continue  # a track need not have kerbs, nor a braking phase
    events: dict[str, Trial] = course.events
    for target in targets.values():
        events = events | dict(target.events)
    spoils = list(spoiled_setups(car, good, 6 * count, generator))
    measures, values = measured([car, *(apply_setup(car, setup) for _, setup in spoils)], events)
    names = [one.name for one in measures]
    done = 0
    for (spoiled, setup), row in zip(spoils, values[1:], strict=True):
        lost = {
            text: -float(one.moved(one.value(names, values[0]), one.value(names, row))) / one.hardly
            for text, one in targets.items()
        }
        said = max(lost, key=lambda text: lost[text])
        if lost[said] < FELT or done >= count:
            continue
        try:
            yield asked(car, track, course, setup, targets[said], said, spoiled, lost[said], draws)
        except FourpatchError as error:
            print(f"{car.name}: {spoiled}: {said}: {error}", file=sys.stderr)
            continue
        done += 1


def asked(
    car: Car,
    track: Track | None,
    course: Course,
    setup: Setup,
    target: Target,
    said: str,
    spoiled: str,
    lost: float,
    draws: int,
) -> Case:
    """Ask in words alone and with the good set-up told, and measure both in the good car's motion."""
    good = baseline_setup(car)
    complaints = read_complaint(said).complaints
    alone = cure(car, setup, complaints, track=track)
    told = cure(car, setup, complaints, track=track, good=good)
    made: dict[str, Setup] = {}
    if alone.sets:
        made["first change"] = alone.sets[0].setup
    if told.sets:
        made["good set-up told"] = told.sets[0].setup
    events = course.events | dict(target.events)
    follow = {}
    if alone.next and alone.next.more:
        follow["more"] = alone.next.more.setup
    if alone.next and alone.next.far:
        follow["far"] = alone.next.far.setup
    if alone.next and alone.next.less:
        follow["less"] = alone.next.less.setup
    setups = [setup, *made.values(), *follow.values()]
    measures, values = measured([car, *(apply_setup(car, one) for one in setups)], events)
    names = [one.name for one in measures]
    number = target.value(names, values)
    balances = [k for k, one in enumerate(measures) if one.quantity == "balance"]
    distance = np.sqrt(np.mean((values[1:, balances] - values[0, balances]) ** 2, axis=1))
    total = float(target.moved(number[1], number[0]))
    share = [float(target.moved(number[1], one)) / total for one in number[1:]]
    ways = dict(
        zip(("spoiled", *made, *follow), zip(share, distance / distance[0], strict=True), strict=True)
    )
    if "first change" in ways:
        ways["and the next"] = followed(ways, felt=FELT / lost)
    picked = [name for name in ("first change", "and the next", "good set-up told") if name in ways]
    return Case(
        car=car.name.removeprefix("Drawn "),
        where=track.name if track else "standard corners",
        spoiled=spoiled,
        said=said,
        lost=lost,
        first=text_of(car, alone.sets[0].changes) if alone.sets else "none",
        won={name: float(ways[name][0]) for name in picked},
        away={name: float(ways[name][1]) for name in picked},
        **(sure_and_true(car, setup, alone, draws) if draws and alone.sets and not track else {}),
    )


def followed(ways: Mapping[str, tuple[float, float]], *, felt: float) -> tuple[float, float]:
    """Return where a driver ends who does as he is told: as it is, more, far more, or less.

    Parameters
    ----------
    felt : share of what was lost that he feels.
    """
    share = ways["first change"][0]
    if share < min(HARDLY_BETTER, 1.0 - felt) and "far" in ways:
        return ways["far"]
    if share < 1.0 - felt:
        return ways.get("more", ways["first change"])
    if share > 1.0 + felt:
        return ways.get("less", (0.0, 1.0))  # too coarse: it is turned back
    return ways["first change"]


def sure_and_true(car: Car, setup: Setup, found: Cure, draws: int) -> dict[str, Any]:
    """Return what is stated of the first set, and what it does in one more plausible car."""
    seed = zlib.crc32(car.name.encode()) % 1000
    stated = sureness(car, setup, found, draws=draws, seed=seed)
    true = sureness(car, setup, found, draws=1, seed=seed + 7919)
    if stated is None or true is None or not stated.asked or not true.asked:
        return {}
    return {
        "stated": (stated.set_holds[0] / stated.asked, stated.set_cures[0] / stated.asked),
        "true": (bool(true.set_holds[0]), bool(true.set_cures[0])),
    }


def opposed(car: Car, texts: Sequence[str]) -> Iterator[Opposed]:
    """Yield what is answered to complaints that pull against each other."""
    for text in texts:
        try:
            found = cure(car, baseline_setup(car), read_complaint(text).complaints)
        except FourpatchError as error:
            print(f"{car.name}: {text}: {error}", file=sys.stderr)
            continue
        yield Opposed(
            car=car.name.removeprefix("Drawn "),
            said=text,
            progress=tuple(found.sets[0].progress) if found.sets else (),
            worsened=sum(min(one.progress) < OPPOSED_WORSE for one in found.sets),
            trade_off=bool(found.trade_offs),
            explained=all(
                one.verdict in ("done", "in part") or one.levers or one.verdict == "nothing does"
                for one in answered(found)
            ),
        )


HOW = """Cars, tracks and faults are drawn from a seed on the command line, so that nobody can tune to them. A
car is estimated from a brief whose numbers are drawn within its kind, and as estimated it counts as
good. One or two adjusters are turned by two to four steps; of what a driver may say (balance on entry,
mid and exit, locking, hopping, kerbs, bottoming) that is said which became worst, in plain words and
without an amount, if at least half a point of balance was lost or five times what is hardly measurable.
*First change*: the first set is made. *And the next*: then as the answer says by what the driver feels,
who feels half a point: as much again if the car still does it, four times as much if it is hardly better
(less than a third won back), half if it does the opposite, back if there is nothing finer; one more change,
and no more. *Good set-up told*: the good set-up is named, the first set is made. What is won back is
measured in the motion of the good car. *Farther*: root mean square of all balances, four phases of all
corners, farther from the good car's than the spoiled car's. All cars and tracks are invented."""

HEADS = ("asked", "cases", "won back 80 %", "more than 140 %", "farther", "worse", "no answer")
CASE_HEADS = ("car", "where", "turned", "said", "lost", "first change", "won back: first", "next", "told")


def summary(found: Sequence[Case]) -> list[tuple[str, ...]]:
    """Return how each way of asking did."""
    rows = []
    for way in ("first change", "and the next", "good set-up told"):
        won = [one.won[way] for one in found if way in one.won]
        away = [one.away[way] for one in found if way in one.away]
        rows.append(
            (
                way,
                str(len(found)),
                counted(sum(one >= WON for one in won), len(found)),
                counted(sum(one > TOO_MUCH for one in won), len(found)),
                counted(sum(one > 1.0 + 1e-6 for one in away), len(found)),
                counted(sum(one < 0.0 for one in won), len(found)),
                str(len(found) - len(won)),
            )
        )
    return rows


def counted(number: int, of: int) -> str:
    """Return a number and its share."""
    return f"{number} ({100.0 * number / max(of, 1):.0f} %)"


def calibration(found: Sequence[Case]) -> list[tuple[str, ...]]:
    """Return what was stated and what was true, of direction and of size."""
    rows = []
    for place, name in enumerate(("the right way", "as far as wanted")):
        known = [one for one in found if not np.isnan(one.stated[place])]
        if known:
            stated = float(np.mean([one.stated[place] for one in known]))
            true = float(np.mean([one.true[place] for one in known]))
            error = sqrt(max(true * (1.0 - true), 0.25 / len(known)) / len(known))
            rows.append((name, str(len(known)), f"{stated:.2f}", f"{true:.2f} ± {error:.2f}"))
    return rows


def opposed_row(one: Opposed) -> tuple[str, ...]:
    """Return two complaints as they stand in the table."""
    return (
        one.car,
        one.said,
        ", ".join(f"{100.0 * share:+.0f} %" for share in one.progress) or "none",
        str(one.worsened),
        "yes" if one.trade_off else "",
        "yes" if one.explained else "**no**",
    )


def case_row(one: Case) -> tuple[str, ...]:
    """Return a case as it stands in the table."""
    won = [one.won.get(way) for way in ("first change", "and the next", "good set-up told")]
    return (
        one.car,
        one.where,
        one.spoiled,
        one.said,
        f"{one.lost / FELT:.1f} × felt",
        one.first,
        *("-" if share is None else f"{100.0 * share:.0f} %" for share in won),
    )


def page(found: Sequence[Case], pairs: Sequence[Opposed], seed: int) -> str:
    """Return the page."""
    lines = [
        f"<!-- Made by benchmarks/advice_in_words.py --seed {seed} --write: change that, not this page. -->",
        "",
        "# Advice asked for in plain words",
        *(f"\n{textwrap.fill(' '.join(text.split()), 118)}" for text in (HOW,)),
        "",
        f"Seed {seed}. Asked were: 80 % won back in 90 %, over 140 % and farther in under 10 % each.",
        "",
        *table(HEADS, summary(found)),
        "",
        "## Sureness",
        "Of the first set: the share of plausible cars in which it helps, and whether it does in one more.",
        "",
        *table(("moves the complaint", "cases", "stated, mean", "true"), calibration(found)),
        "",
        "## Complaints that pull against each other",
        "Shares of the wanted change that the first set brings each; a first change of what is felt.",
        "",
        *table(
            ("car", "said", "first set", "sets that worsen one", "trade-off shown", "each answered"),
            [opposed_row(one) for one in pairs],
        ),
        "",
        "## Every case",
        "",
        *table(CASE_HEADS, [case_row(one) for one in found]),
    ]
    return "\n".join(lines) + "\n"


def main() -> None:
    """Run, print and, if asked, write the page."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--smallest", action="store_true", help="one case of one car: to see that it runs")
    parser.add_argument("--seed", type=int, default=1, help="of cars, tracks and faults")
    parser.add_argument("--cars", type=int, default=len(KINDS), help="each of another kind, in turn")
    parser.add_argument("--cases", type=int, default=3, help="of each car")
    parser.add_argument("--tracks", type=int, default=2, help="with two cases of one car each")
    parser.add_argument("--draws", type=int, default=DRAWS, help="plausible cars asked of each case")
    parser.add_argument("--keep", type=Path, help="keep cases in this file, and do not run again what it has")
    parser.add_argument("--write", action="store_true", help=f"write docs/{PAGE.name}")
    options = parser.parse_args()
    if options.smallest:
        options.cars, options.cases, options.tracks, options.draws = 1, 1, 0, 0
    kept = Kept(options.keep, options.seed)
    kinds = [list(KINDS)[k % len(KINDS)] for k in range(options.cars)]
    for place, kind in enumerate(kinds):
        generator = np.random.default_rng([options.seed, place])
        car = drawn_car(kind, generator)
        kept.cases(f"{place}", lambda c=car, g=generator: cases(c, None, options.cases, g, options.draws))
        if not options.smallest:
            texts = [OPPOSED[(2 * place + k) % len(OPPOSED)] for k in range(2)]
            kept.opposed(f"{place}", lambda c=car, t=texts: opposed(c, t))
    for number in range(1, options.tracks + 1):
        generator = np.random.default_rng([options.seed, 100 + number])
        car = drawn_car(list(KINDS)[(2 * number) % len(KINDS)], generator)
        track = drawn_track(number, car, generator)
        kept.cases(f"track {number}", lambda c=car, t=track, g=generator: cases(c, t, 2, g, 0))
    print("\n".join(table(HEADS, summary(kept.found))))
    print("\n".join(table(("moves", "cases", "stated", "true"), calibration(kept.found))))
    if options.write:
        PAGE.write_text(page(kept.found, kept.pairs, options.seed), encoding="utf-8", newline="\n")


class Kept:
    """What was found, and what an earlier run found of the same seed."""

    def __init__(self, path: Path | None, seed: int) -> None:
        """Read what a file has."""
        self.found: list[Case] = []
        self.pairs: list[Opposed] = []
        self._path, self._seed = path, seed
        self._done: set[str] = set()
        for line in path.read_text(encoding="utf-8").splitlines() if path and path.exists() else ():
            one = json.loads(line)
            if one["seed"] == seed:
                self._done.add(one["of"])
                self.found += [Case(**c) for c in one["cases"]]
                self.pairs += [Opposed(**c) for c in one["pairs"]]

    def cases(self, of: str, run: Any) -> None:
        """Run cases unless they are known."""
        self._take(f"cases {of}", run, self.found, case_row)

    def opposed(self, of: str, run: Any) -> None:
        """Run opposed complaints unless they are known."""
        self._take(f"opposed {of}", run, self.pairs, opposed_row)

    def _take(self, of: str, run: Any, into: list[Any], row: Any) -> None:
        if of in self._done:
            return
        new = []
        for one in run():
            new.append(one)
            print(" | ".join(row(one)), flush=True)
        into += new
        if self._path:
            held = {"cases": [], "pairs": []}
            held["cases" if into is self.found else "pairs"] = [asdict(one) for one in new]
            with self._path.open("a", encoding="utf-8") as file:
                file.write(json.dumps({"seed": self._seed, "of": of, **held}) + "\n")


if __name__ == "__main__":
    main()
