"""How sure a cure is: the same question put to plausible cars, and which unknown it hangs on most."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import exp, log, sqrt

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.complaint_numbers import complaint_numbers
from fourpatch.advice.course import corner_number
from fourpatch.advice.cure import Cure
from fourpatch.advice.plausible import (
    Groups,
    PlausibleCar,
    Turns,
    drawn,
    factors,
    made,
    shifted,
    uncertain,
)
from fourpatch.advice.sets import Changes
from fourpatch.advice.target import Target
from fourpatch.car.adjusters import map_spread
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup
from fourpatch.errors import CarError, SolveError
from fourpatch.long_work import Cancelled, Progress, go_on, never, stretch, unwatched
from fourpatch.units import Unit

Array = NDArray[np.float64]

DRAWS = 32
"""Plausible cars that are asked."""

_TOGETHER = 4  # plausible cars of which none is run if one ends in no number
_DRAWN, _RUN = 0.2, 0.9  # shares of the whole at which its parts end
_NAMED = 5  # unknowns in the answer


@dataclass(frozen=True, slots=True, kw_only=True)
class Unknown:
    """Something that is not known of the car, and how much the first set of changes hangs on it."""

    name: str
    """Dotted name of a parameter, or an adjuster's name."""
    share: float
    """Of the variance of the set's effect that it makes up."""
    change: float
    """Of the share of the wanted change that the set brings, for one standard deviation more of it."""
    remedy: str
    """How to find it out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Needed:
    """How far an unknown is off in a car that shows a complaint."""

    name: str
    """Of a parameter, of both axles', an adjuster, or of what concerns the driver."""
    moved: float
    """In standard deviations."""
    change: float
    """Of the value, a share; where `unit` is said a difference, SI; of the driver's neutral in points."""
    unit: Unit | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class IfTrue:
    """What would have to be true for complaints to show that the car as written does not, and what then."""

    needed: tuple[Needed, ...]
    """What is off most in the likeliest such car, most first."""
    farthest: float
    """Standard deviations by which the farthest of all unknowns is off in it."""
    asked: int
    """Cars that show the complaints, drawn and run."""
    holds: int
    """Those in which the first set of the answer moves every complaint the right way."""
    own: Changes | None
    """First set that the likeliest such car itself is advised; None if nothing helps it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sureness:
    """What plausible cars say of the same adjusters and the same set of changes."""

    asked: int
    """Plausible cars that could be drawn and run."""
    lost: int
    """Those that could not: they cannot stand, or their run ended in no number."""
    seed: int
    uncertain: int
    """Parameters and adjusters whose spread is stated."""
    holds: tuple[int, ...]
    """Cars in which each lever, in the order of the cure, moves the complaint the right way."""
    low: tuple[float, ...]
    """16th percentile of each lever's effect per step, as a share of the wanted change."""
    high: tuple[float, ...]
    """84th percentile."""
    set_holds: tuple[int, ...]
    """Cars in which each set moves every complaint the right way."""
    set_cures: tuple[int, ...]
    """Cars in which it moves them as far as wanted, to a tenth; of a first change, enough to feel."""
    unknowns: tuple[Unknown, ...]
    """What the first set hangs on, most first."""
    shown: tuple[int | None, ...] = ()
    """Cars that show each complaint before anything is turned; None where there is no line to tell by."""
    if_true: IfTrue | None = None
    """Where the car as written does not show a complaint of balance."""
    asked_in: tuple[int, ...] = ()
    """Numbers of the corners that were asked in, where a complaint is about more of them; else empty."""
    stopped: bool = False
    """Whether it was cancelled: then fewer cars were asked than wanted, and not what the set hangs on."""


def sureness(
    car: Car,
    setup: Setup,
    answer: Cure,
    *,
    draws: int = DRAWS,
    seed: int = 1,
    drawn_before: Sequence[PlausibleCar] | None = None,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> Sureness | None:
    """Return what plausible cars say of a cure; None where the car's file states no spread.

    Parameters
    ----------
    drawn_before : cars to ask, drawn by what was observed of the car; by its spreads alone if left out.
    progress, cancelled : as `long_work`; stopped, it returns what the cars that were asked say.

    Raises
    ------
    Stopped
        If it is cancelled before the first of them.

    Notes
    -----
    Spreads are taken as independent but for what the car says is alike on both axles, which overstates what
    depends on two estimates that make up for each other. Every car meets the motion of the car as written.
    What matters most is found one at a time: each unknown one standard deviation up, all else as written;
    shares of the variance are of the sum of the squares, so that what unknowns do together is left out.
    """
    turns = Turns(car, setup)
    groups = uncertain(turns.standing)
    sizes = [map_spread(car, one) for one in car.adjusters]
    if not groups and not any(sizes):
        return None
    numbers = len({one.parameter.path for some in groups.values() for one in some})
    generator = np.random.default_rng(seed)
    families = []
    for number in range(draws):
        progress(_DRAWN * number / draws, f"{draws} plausible cars, drawn")
        go_on(cancelled, "no plausible car was asked yet")
        if drawn_before is not None:
            base, factor = made(turns.standing, groups, drawn_before[number])
        else:
            base, factor = drawn(turns.standing, groups, generator), factors(car, car.adjusters, generator)
        if base is not None:
            families.append(_family(turns, answer, base, factor))
    told = stretch(progress, _DRAWN, _RUN, of=f"{draws} plausible cars")
    shares, shown, asked = _shares(turns.standing, answer, families, told, cancelled)
    stopped = asked < len(families)
    levers = shares[:, : len(answer.levers)].mean(axis=-1)
    chosen = shares[:, len(answer.levers) :]
    enough = np.array([one.enough for one in answer.sets])[:, np.newaxis]
    progress(_RUN, "which unknown matters most")
    return Sureness(
        asked=shares.shape[0],
        lost=draws - len(families) + asked - shares.shape[0],
        seed=seed,
        uncertain=numbers + sum(size > 0.0 for size in sizes),
        holds=tuple(int(n) for n in (levers > 0.0).sum(axis=0)),
        low=tuple(float(v) for v in np.percentile(levers, 16.0, axis=0)) if levers.size else (),
        high=tuple(float(v) for v in np.percentile(levers, 84.0, axis=0)) if levers.size else (),
        set_holds=tuple(int(n) for n in (chosen > 0.0).all(axis=-1).sum(axis=0)),
        set_cures=tuple(int(n) for n in (chosen >= enough).all(axis=-1).sum(axis=0)),
        shown=tuple(
            None if target.telling() is None else int(count)
            for target, count in zip(answer.targets, shown.sum(axis=0), strict=True)
        ),
        unknowns=tuple(_unknowns(turns, answer, groups, sizes)) if answer.sets and not stopped else (),
        asked_in=_asked_in(answer),
        stopped=stopped,
    )


def first_set_holds(
    car: Car, setup: Setup, answer: Cure, cars: Sequence[PlausibleCar], cancelled: Cancelled = never
) -> tuple[int, int]:
    """Return in how many of some cars the first set moves every complaint the right way, and how many ran."""
    turns = Turns(car, setup)
    groups = uncertain(turns.standing)
    alone = replace(answer, levers=(), sets=answer.sets[:1])
    there = [made(turns.standing, groups, one) for one in cars]
    families = [_family(turns, alone, base, factor) for base, factor in there if base is not None]
    shares, _, _ = _shares(turns.standing, alone, families, unwatched, cancelled)
    return int((shares > 0.0).all(axis=(1, 2)).sum()), shares.shape[0]


def _asked_in(answer: Cure) -> tuple[int, ...]:
    """Return the numbers of the corners that are asked in, if they are not all that a complaint is about."""
    every = {corner for target in answer.targets for corner, _ in target.phases()}
    asked = {corner for target in answer.targets for corner, _ in asked_target(answer, target).phases()}
    chosen = [name for name in answer.course.corners if name in asked] if asked < every else []
    return tuple(corner_number(name) for name in chosen)


def _family(turns: Turns, answer: Cure, base: Car, factor: Sequence[float]) -> list[Car]:
    """One plausible car, then it with one step of each lever, then it with each set."""
    changes: list[Changes] = [((lever.adjuster, lever.direction),) for lever in answer.levers]
    changes += [one.changes for one in answer.sets]
    return [base, *(turns.made_on(base, one, factor) for one in changes)]


def _shares(
    like: Car, answer: Cure, families: Sequence[Sequence[Car]], progress: Progress, cancelled: Cancelled
) -> tuple[Array, NDArray[np.bool_], int]:
    """Share of the wanted change in each family, (families that could be run, changes, targets).

    Also whether each family's car shows each complaint, (families, targets), and how many were asked.
    """
    found: list[tuple[Array, NDArray[np.bool_]]] = []
    asked = 0
    for start in range(0, len(families), _TOGETHER):
        if cancelled() and found:
            break
        go_on(cancelled, "no plausible car was asked yet")
        progress(start / len(families), "asked")
        asked = min(start + _TOGETHER, len(families))
        some = families[start : start + _TOGETHER]
        try:
            found += _run(like, answer, some)
        except (CarError, SolveError):
            for one in some:
                try:
                    found += _run(like, answer, [one])
                except (CarError, SolveError):
                    continue
    changes, targets = len(families[0]) - 1 if families else 0, len(answer.targets)
    if not found:
        return np.empty((0, changes, targets)), np.empty((0, targets), dtype=np.bool_), asked
    return np.stack([shares for shares, _ in found]), np.stack([shown for _, shown in found]), asked


def _run(like: Car, answer: Cure, families: Sequence[Sequence[Car]]) -> list[tuple[Array, NDArray[np.bool_]]]:
    """Return of each family the shares of the wanted change, and whether its car shows each complaint."""
    cars = [car for family in families for car in family]
    targets = [asked_target(answer, target) for target in answer.targets]
    telling = [one.telling() for one in targets]
    others = {k: one for k, one in enumerate(telling) if one is not None and one is not targets[k]}
    numbers = complaint_numbers(like, cars, [*targets, *others.values()], answer.table.events)
    found = []
    for part in numbers.reshape(len(families), -1, numbers.shape[-1]):
        moved = [
            target.moved(part[0, k], part[1:, k]) / wanted
            for k, (target, wanted) in enumerate(zip(targets, answer.wanted, strict=True))
        ]
        columns = dict(zip(others, range(len(targets), numbers.shape[-1]), strict=True))
        shown = [
            one is not None and bool(one.beyond(part[0, columns.get(k, k)])) for k, one in enumerate(telling)
        ]
        found.append((np.stack(moved, axis=-1), np.array(shown)))
    return found


def asked_target(answer: Cure, target: Target) -> Target:
    """Return what plausible cars are asked: of many corners the middle one of each speed class."""
    events = {name.split(".")[0] for name, _ in target.terms}
    corners = [name for name in answer.course.corners if name in events]
    return target.within(answer.course.typical(corners)) if corners else target


def _unknowns(turns: Turns, answer: Cure, groups: Groups, sizes: Sequence[float]) -> Iterator[Unknown]:
    """Yield what the first set hangs on, most first, by moving one unknown at a time."""
    changes = answer.sets[0].changes
    plain = [1.0] * len(sizes)
    names, families = [""], [[turns.standing, turns.made_on(turns.standing, changes, plain)]]
    for name in groups:
        try:
            base = shifted(turns.standing, groups, {name: 1.0})
            families.append([base, turns.made_on(base, changes, plain)])
        except CarError:
            continue
        names.append(name)
    for place, _ in changes:
        if sizes[place] > 0.0:
            factor = [*plain]
            factor[place] = exp(sqrt(log(1.0 + sizes[place] ** 2)))
            families.append([turns.standing, turns.made_on(turns.standing, changes, factor)])
            names.append(turns.car.adjusters[place].name)
    had = np.stack([shares for shares, _ in _run(turns.standing, answer, families)]).mean(axis=(1, 2))
    change = had[1:] - had[0]
    total = float(np.sum(change**2))
    for k in np.argsort(-np.abs(change), kind="stable")[:_NAMED]:
        if total > 0.0 and change[k] ** 2 >= 0.01 * total:
            yield Unknown(
                name=names[k + 1],
                share=float(change[k] ** 2 / total),
                change=float(change[k]),
                remedy=remedy(names[k + 1]),
            )


_REMEDIES = (
    (
        r"tyre\.(vertical_rate|contact_length|vertical_damping|radius)",
        "press one tyre on scales and measure how far it sinks, or ask its maker",
    ),
    (
        r"tyre\.(pressure|temperature|reference|best_pressure|best_temp)",
        "read pressure and temperature hot, when the car comes in",
    ),
    (r"tyre\.relaxation", "a recording of quick steering on a smooth straight"),
    (
        r"tyre\.",
        "a recording of steady cornering at rising speed on a fixed radius, steering and yaw rate with it",
    ),
    (r"chassis\.cg_height", "lift one axle on scales and weigh again"),
    (
        r"chassis\.(front_weight|cross_weight|cg_lateral|mass)|fuel",
        "four corner scales, with driver and fuel",
    ),
    (r"inertia", "swing the part or the car, or take it from its maker's drawings"),
    (
        r"damper",
        "a damper dynamometer sheet, or a recording of damper travel over the same road at two settings",
    ),
    (
        r"(spring|bar|heave|bump_stop|droop_stop)\.(rate|motion|helper|gap|progression)",
        "read the part's marking or press it on scales; measure the gap with the car on the ground",
    ),
    (r"motion_ratio", "move the wheel by 10 mm on the stand and measure spring, damper and bar travel"),
    (r"geometry", "measure the link pivots, or camber and toe against travel on the stand"),
    (r"camber|toe|ride_height|track_width", "measure it on a level floor, driver in"),
    (r"aero", "a recording of ride heights or damper travel at two speeds on a smooth straight"),
    (r"brakes", "brake pressures front and rear in one stop, and the sizes of discs and pistons"),
    (
        r"differential",
        "turn one wheel by hand with a torque wrench for preload; the ramps are marked on the plates",
    ),
    (r"driveline", "the engine's torque curve and the gear ratios, from the maker or the gearbox"),
    (r"steering", "turn the steering by 90 deg and measure the wheels on turn plates"),
    (r"unsprung|wheel", "weigh a wheel with its hub parts"),
)


def remedy(name: str) -> str:
    """Return how to find out what a parameter or an adjuster does; common practice, no published source."""
    name = name.split(",")[0]  # what of it is unknown, of both axles or of one against the other
    if "." not in name or " " in name:
        return "one recording with it at two settings, all else the same, or one look at its maker's chart"
    return next((text for pattern, text in _REMEDIES if re.search(pattern, name)), "measure it")
