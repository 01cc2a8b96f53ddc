"""A base set-up: stated targets in the driver's own steps, refined by computing, each with its reason."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from math import inf

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.base_borne import DriveWord, all_given, borne
from fourpatch.advice.base_start import start_from_targets
from fourpatch.advice.base_targets import STYLES, StyleName, Targets, base_targets
from fourpatch.advice.grip_cost import HARDLY, PARTS, GripCost, Judge
from fourpatch.advice.occasion import Occasion, generic_occasion, track_occasion
from fourpatch.advice.refine import Refined, back_to, refine, signed
from fourpatch.advice.turns_held import TurnCheck
from fourpatch.car.adjusters import Adjuster
from fourpatch.car.car import Car
from fourpatch.car.scale_words import standing_at
from fourpatch.car.setup import Setup, apply_setup, step
from fourpatch.errors import CarError, Stopped
from fourpatch.long_work import Cancelled, Progress, go_on, never, stretch, unwatched
from fourpatch.track.track import Track

Array = NDArray[np.float64]

SCANNED = (1, 2, 3, 5, 8, 12)
"""Steps either way at which the range that hardly matters is computed."""

_TARGETS, _SEARCHED, _DRIVEN = 0.05, 0.6, 0.85  # shares of the time at which targets, search, drive are done

_LEFT_ALONE = {
    "tyre.pressure": "the tyre decides it, and the model knows one best pressure",
    ".toe": "the rig does not steer and cannot judge it",
    "steering.": "the rig does not steer and cannot judge it",
    "chassis.cross_weight_share": "even corners treat left and right turns alike",
    "fuel.": "as much as the run needs",
    "driveline.final_drive": "a matter of the track's straights",
    "driveline.gear_ratios": "a matter of the track's straights",
    "aero.": "more downforce against more drag is a matter of the lap: advise trade-off",
    "_differential.preload": "what it locks buys calm, which this cost does not see: advise trade-off",
    "_differential.coast_lock": "what it locks buys calm, which this cost does not see: advise trade-off",
    "brakes.full_pedal_torque": "it must lock the wheels and no more",
    "brakes.front_share": "set in closed form with a margin: a rear axle that locks first is dangerous",
}
"""Parts of names of parameters whose adjusters are not moved by the search, and why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BaseValue:
    """Where one adjuster stands in a base set-up, and why."""

    adjuster: Adjuster
    position: float
    target: float
    """Where the stated targets put it."""
    before: float
    """Where it stood in the set-up that was given."""
    because: str
    """One sentence with its number."""
    moved_by_search: bool
    low: float | None
    """Lowest of the computed steps around it that hardly matter; None where it was not computed."""
    high: float | None
    cost_of_target: float | None
    """Points it would cost to stand where the targets put it, all else as found. None as above."""

    @property
    def unknown(self) -> bool:
        """Whether nobody has said what a step does."""
        return self.adjuster.map.kind == "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class BaseSetup:
    """A base set-up and everything behind it."""

    setup: Setup
    occasion: Occasion
    targets: Targets
    values: tuple[BaseValue, ...]
    """In the order of the car's adjusters."""
    given: GripCost
    """Cost of the set-up that was given."""
    start: GripCost
    """Cost of the targets alone."""
    found: GripCost
    tried: int
    """Set-ups that were computed."""
    drive: DriveWord
    """What the drive says of it beside the given set-up."""
    converged: bool
    stopped: bool
    """Whether the user stopped it: better than the targets at best, and its ranges are not known."""

    @property
    def worse_parts(self) -> list[str]:
        """Parts of the cost in which the found set-up is worse than the given one by more than hardly."""
        change = self.found.parts[0] - self.given.parts[0]
        return [part for part, worse in zip(PARTS, change, strict=True) if worse > HARDLY]


def base_setup(
    car: Car,
    setup: Setup,
    *,
    track: Track | None = None,
    style: StyleName = "neutral",
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> BaseSetup:
    """Return a base set-up of a car for a track.

    Parameters
    ----------
    setup : to start from; what neither targets nor search speak of stays as it is there.
    track : without one, the standard corners, a class B road and a kerb.
    progress, cancelled : as `long_work`; stopped once the targets are known, it returns the cheapest set-up
        known, without the ranges that hardly matter.

    Raises
    ------
    Stopped
        If it is cancelled before the targets are known.
    CarError
        If the car has no adjusters.
    EventError
        If the track has no corner.

    Notes
    -----
    The search begins at the targets and at the set-up that was given, and the cheaper end is taken: a set-up
    somebody has worked on is not thrown away for a rule of thumb. What then stands elsewhere than its target
    without gaining by it goes back there (`back_to`). Then the drive is asked (`borne`): what it finds less
    stable than the given set-up in the occasion's corners, or slower on a lap, goes back towards that one.
    """
    if not car.adjusters:
        raise CarError(
            f"{car.name} has no adjusters, so there is nothing to set. Add [[adjusters]] to its file; "
            "fourpatch estimate writes a first list."
        )
    standing = apply_setup(car, setup)
    progress(0.0, "occasion")
    occasion = generic_occasion(standing) if track is None else track_occasion(standing, track)
    targets = base_targets(standing, occasion, STYLES[style])
    go_on(cancelled, "the targets were not computed yet")
    progress(0.02, "targets")
    started = start_from_targets(car, setup, occasion, targets)
    judge = Judge(car=car, reference=standing, occasion=occasion, balance=targets.style.balance)
    movable = [one for one in car.adjusters if left_alone(one) is None]
    starts = [started.setup, _with_left_alone(car, setup, started.setup)]
    ends = _ends(judge, starts, movable, stretch(progress, _TARGETS, _SEARCHED), cancelled)
    costs = judge.cost([setup, started.setup])
    end = min(ends, key=lambda one: float(one.cost.total[0]))
    if not cancelled():
        end = back_to(judge, end, started.setup, movable, at_most=float(costs.total[0]))
    told = stretch(progress, _SEARCHED, _DRIVEN)
    check = TurnCheck(car, setup, occasion)
    end, word = _driven(judge, end, setup, check, track, told, cancelled)
    scan = _Scan(above={}, tried=0)
    stopped = cancelled()
    if not stopped:
        try:
            told = stretch(progress, _DRIVEN, 1.0, of="how far each may move")
            scan = _scan(judge, end, movable, started.setup, told, cancelled)
            scan = _asked_of_drive(scan, end.setup, movable, check.nearest(end.setup))
        except Stopped:
            stopped = True
    name = f"base for {occasion.name}" if track is not None else "base"
    return BaseSetup(
        setup=end.setup.model_copy(update={"name": name[:80], "note": _note(occasion, style, stopped)}),
        occasion=occasion,
        targets=targets,
        values=tuple(
            _value(one, end, setup, started.setup, started.because, scan, word) for one in car.adjusters
        ),
        given=costs.row(0),
        start=costs.row(1),
        found=end.cost,
        tried=sum(one.tried for one in ends) + scan.tried + 2,
        drive=word,
        converged=end.converged,
        stopped=stopped,
    )


def _driven(
    judge: Judge,
    end: Refined,
    given: Setup,
    check: TurnCheck,
    track: Track | None,
    progress: Progress,
    cancelled: Cancelled,
) -> tuple[Refined, DriveWord]:
    """Return where the search ended, taken back as far as the drive asks for, and what the drive says."""
    setup, word = borne(
        judge.car,
        given,
        end.setup,
        judge.occasion,
        check,
        track=track,
        progress=progress,
        cancelled=cancelled,
    )
    if not word.put_back:
        return end, word
    costs, tried = judge.cost([setup, given]), end.tried + 1
    if costs.total[0] <= costs.total[1]:
        return replace(end, setup=setup, cost=costs.row(0), tried=tried), word
    # What is left of the search costs more grip than it began with.
    word = all_given(judge.car, given, end.setup, check, word)
    return replace(end, setup=given, cost=costs.row(1), tried=tried), word


def left_alone(one: Adjuster) -> str | None:
    """Return why the search does not move an adjuster, None if it does."""
    return next((why for part, why in _LEFT_ALONE.items() if any(part in t for t in one.targets)), None)


def _with_left_alone(car: Car, setup: Setup, targets: Setup) -> Setup:
    """Return the given set-up with what the search leaves alone as the targets have it."""
    fixed = {one.name: targets.position(one) for one in car.adjusters if left_alone(one) is not None}
    return setup.model_copy(update={"values": {**setup.values, **fixed}})


def _ends(
    judge: Judge,
    starts: Sequence[Setup],
    movable: Sequence[Adjuster],
    progress: Progress,
    cancelled: Cancelled,
) -> list[Refined]:
    names = ("from the targets", "from the given set-up")
    found = []
    for number, (start, name) in enumerate(zip(starts, names, strict=True)):
        told = stretch(progress, number / len(starts), (number + 1) / len(starts), of=name)
        found.append(refine(judge, start, movable, progress=told, cancelled=cancelled))
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scan:
    """Cost of each adjuster moved alone, by name and position, above that of the set-up found."""

    above: dict[str, dict[float, float]]
    tried: int

    unborne: dict[str, set[float]] = field(default_factory=dict)
    """Positions that would cost hardly anything, and at which the driven car swings round."""

    def within_reach(self, name: str) -> dict[float, float]:
        """Return the costs of an adjuster's positions, without end where the driven car swings round."""
        unborne = self.unborne.get(name, set())
        return {at: inf if at in unborne else cost for at, cost in self.above[name].items()}


def _asked_of_drive(
    scan: _Scan, setup: Setup, movable: Sequence[Adjuster], bears: Callable[[Setup], bool]
) -> _Scan:
    """Return a scan in which the drive was asked at the ends of what hardly matters, from outside inward."""
    unborne: dict[str, set[float]] = {one.name: set() for one in movable}
    for one in movable:
        at, above = setup.position(one), scan.above[one.name]
        low, high = hardly_matters(at, above)
        for outermost in (
            sorted(a for a in above if low <= a < at),
            sorted((a for a in above if at < a <= high), reverse=True),
        ):
            for end in outermost:
                if bears(setup.model_copy(update={"values": {**setup.values, one.name: end}})):
                    break
                unborne[one.name].add(end)
    return replace(scan, unborne=unborne)


def _scan(
    judge: Judge,
    end: Refined,
    movable: Sequence[Adjuster],
    target: Setup,
    progress: Progress,
    cancelled: Cancelled,
) -> _Scan:
    trials: list[tuple[str, float, Setup]] = []
    for one in movable:
        stepped = [step(end.setup, one, n) for n in signed(SCANNED)]
        positions = {s.position(one) for s in stepped if s is not None} | {target.position(one)}
        for at in sorted(positions - {end.setup.position(one)}):
            values = {**end.setup.values, one.name: at}
            trials.append((one.name, at, end.setup.model_copy(update={"values": values})))
    setups = [setup for _, _, setup in trials]
    totals = judge.cost(setups, progress=progress, cancelled=cancelled).total if trials else np.array([])
    above: dict[str, dict[float, float]] = {one.name: {} for one in movable}
    for (name, at, _), total in zip(trials, totals, strict=True):
        above[name][at] = float(total) - float(end.cost.total[0])
    return _Scan(above=above, tried=len(trials))


def _value(
    one: Adjuster,
    end: Refined,
    given: Setup,
    target: Setup,
    because: dict[str, str],
    scan: _Scan,
    word: DriveWord,
) -> BaseValue:
    position, wanted = end.setup.position(one), target.position(one)
    above = scan.above.get(one.name)
    moved = left_alone(one) is None and position != wanted
    low, high = (None, None) if above is None else hardly_matters(position, scan.within_reach(one.name))
    cost = above.get(wanted, 0.0) if above is not None else None
    aimed = because.get(one.name, "")
    put_back = one.name in word.put_back
    return BaseValue(
        adjuster=one,
        position=position,
        target=wanted,
        before=given.position(one),
        because=_taken_back(word) if put_back else _because(one, aimed, wanted, cost, moved=moved),
        moved_by_search=moved,
        low=low,
        high=high,
        cost_of_target=cost,
    )


def hardly_matters(position: float, above: dict[float, float]) -> tuple[float, float]:
    """Return the ends of the steps around a position, without a gap, that cost at most `HARDLY`."""
    low = high = position
    for at in sorted((a for a in above if a < position), reverse=True):
        if above[at] > HARDLY:
            break
        low = at
    for at in sorted(a for a in above if a > position):
        if above[at] > HARDLY:
            break
        high = at
    return low, high


def _because(one: Adjuster, aimed: str, wanted: float, cost: float | None, *, moved: bool) -> str:
    """Return the reason of a value in one sentence."""
    why_left = left_alone(one)
    if why_left is not None:
        return f"{aimed or 'left as it was'}; {why_left}" if not aimed else aimed
    if not moved:
        return aimed or "no target speaks of it, and no step of it gains"
    if cost is None:
        return "computed, but stopped before what it is worth alone was"
    scale = standing_at(wanted, one.unit)
    from_where = f"the target ({aimed})" if aimed else "where it stood"
    if cost > HARDLY:
        return f"computed: {scale}, {from_where}, would cost {cost:.2f} points of grip"
    return f"{scale}, {from_where}, would do nearly as well ({_points_more(cost)})"


def _taken_back(word: DriveWord) -> str:
    """Return why a value stands nearer to the given set-up than the search on the rig had it."""
    why = (
        [f"the car would have swung round in the {' and the '.join(word.unstable)}"] if word.unstable else []
    )
    why += ["its driven lap was slower, or could not be driven"] if word.slower else []
    return f"taken back towards where it stood, by the drive: {', and '.join(why)}"


def _points_more(cost: float) -> str:
    """Say what a value costs beside another, in hundredths of a point."""
    size = f"{abs(cost):.2f}"
    return f"{size} points {'more' if cost > 0.0 else 'less'}" if float(size) else "the same cost"


def _note(occasion: Occasion, style: StyleName, stopped: bool) -> str:
    early = " The search was stopped before its end." if stopped else ""
    return (
        f"Computed by fourpatch advise base for {occasion.name}, style {style}. A start, not an end: try it, "
        f"within the maker's limits and the rules of your series.{early}"
    )
