"""Every rule on one car: one batch of set-ups through each event, then a verdict with its reason."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from fourpatch.advice.because import bump_sentence, height_sentence, load_words, phase_sentence
from fourpatch.advice.paths import bump_path, phase_path, window_of
from fourpatch.advice.rules.catalogue import RULES
from fourpatch.advice.rules.quantities import QUANTITIES, bump_numbers, corner_series, hardly, mid_reserve
from fourpatch.advice.rules.rule import CORNERS, KERBS, ROADS, TURN_INS, Change, Claim, Rule
from fourpatch.advice.rules.variants import changed_car, changed_vector
from fourpatch.advice.rules.verdict import Cell, CheckedClaim, CheckedRule, Outcome, Why, outcome_of
from fourpatch.analysis.damper_map import damper_map, good_ratios
from fourpatch.analysis.standard_events import standard_corners, standard_kerb, standard_road
from fourpatch.analysis.step_steer import step_steer_values
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.document.content import json_unit
from fourpatch.errors import SolveError
from fourpatch.events.drive import drive
from fourpatch.events.kerb_strike import KerbStrike
from fourpatch.events.motion import RigMotion
from fourpatch.events.rough_road import RoughRoad
from fourpatch.events.run import run_rig, stable_step, stacked
from fourpatch.events.step_steer import StepSteer
from fourpatch.long_work import Cancelled, Progress, go_on, never, stretch, unwatched
from fourpatch.physics.integrate import History

Array = NDArray[np.float64]

AS_IT_STANDS = Change(name="as it stands")

_TURN_IN = {"deceleration": 0.0, "build_up": 0.02, "braking": 0.08, "entry": 0.5, "mid": 0.6, "exit": 0.05}
"""A corner entered at constant speed, the steering wound on in half a second."""

_MAP_SIZE = 7  # factors from a third to three times, 44 % apart
_MAP_DURATION = 4.0  # of road [s]
_EVENTS = 0.3  # share of the time that the events take, measured


class RigEvent(Protocol):
    """What the rig can put a car through."""

    def motion(self, car: Car, step: float) -> RigMotion:
        """Return what the rig does."""


@dataclass(slots=True)
class _Run:
    """A batch of set-ups that went through one event."""

    vectors: Array
    rows: dict[Change, int]
    motion: RigMotion
    history: History
    series: dict[str, Array] = field(default_factory=dict)
    """Of a corner: numbers at every stored instant."""
    numbers: dict[str, Array] = field(default_factory=dict)
    """Of a road or kerb."""

    def value(self, change: Change, claim: Claim, window: str) -> float:
        """Return a claim's number for one set-up; not a number if that could not be run."""
        row = self.rows.get(change)
        if row is None:
            return float("nan")
        axle = () if not claim.axle else (("front", "rear").index(claim.axle),)
        if claim.quantity in self.numbers:
            return float(self.numbers[claim.quantity][(row, *axle)])
        phase, _, half = window.partition(".")
        part = window_of(self.motion, phase, half, self.history.outputs.shape[1])
        if claim.quantity == "stability_reserve":
            middle = (part.start + part.stop) // 2
            key = f"stability_reserve {middle}"
            if key not in self.series:
                self.series[key] = mid_reserve(self.vectors, self.history, self.motion, middle)
            return float(self.series[key][row])
        series = self.series[claim.quantity][row, part]
        return float(series[(slice(None), *axle)].mean())


def rule_events(car: Car) -> dict[str, RigEvent]:
    """Return the events rules are checked in, scaled to the car as it stands.

    Notes
    -----
    Each standard corner twice: off the brakes, as it is, and turned into at constant speed, for there other
    wheels move. Roads of class A, B and C, and two kerbs of the standard height under the left wheels:
    0.8 m long, from which any wheel flies, and 3 m long, which a wheel can follow.
    """
    corners = standard_corners(car)
    road, kerb = standard_road(car), standard_kerb(car)
    events: dict[str, RigEvent] = dict(corners)
    for name, turn_in in zip(CORNERS, TURN_INS, strict=True):
        events[turn_in] = corners[name].model_copy(update={**_TURN_IN, "acceleration": 0.0})
    for name in ROADS:
        events[name] = road.model_copy(update={"road_class": name.split()[1]})
    for name, length in zip(KERBS, (0.8, 3.0), strict=True):
        events[name] = KerbStrike(height=kerb.height, speed=kerb.speed, shape="half-sine", length=length)
    return events


def check_rules(
    car: Car,
    setup: Setup,
    *,
    rules: Sequence[Rule] = RULES,
    events: Mapping[str, RigEvent] | None = None,
    packed: Callable[[Car], Array] = pack,
    progress: Progress = unwatched,
    cancelled: Cancelled = never,
) -> list[CheckedRule]:
    """Compute what each rule says on a car, and return it with a verdict.

    Parameters
    ----------
    setup : the car is taken as it stands with it.
    events : by the names the rules use; by default `rule_events`. What is not among them is left out.
    packed : how a car becomes what the kernels run.
    progress, cancelled : as `long_work`.

    Raises
    ------
    Stopped
        If it is cancelled.

    Notes
    -----
    Every change is made alone, as said and the other way, in the same motion. Effects are those of the rig:
    load, share, attitude and grip; steering feel and a driver's confidence are not in them. Toe-out at the
    front is asked of the drive.
    """
    standing = apply_setup(car, setup)
    chosen = rule_events(standing) if events is None else events
    lacking = {rule.name: rule.lacks(standing) for rule in rules}
    asked = [rule for rule in rules if not lacking[rule.name]]
    vector = packed(standing)
    vectors = {change: changed_vector(standing, change, packed) for change in _changes(asked)}
    runs = {}
    told = stretch(progress, 0.0, _EVENTS)
    for number, (name, event) in enumerate(chosen.items()):
        go_on(cancelled, "not every rule was asked yet")
        wanted = [rule for rule in asked if any(name in claim.events for claim in rule.claims)]
        if wanted:
            told(number / len(chosen), name)
            runs[name] = _run(name, event, standing, vector, wanted, vectors)
    found = []
    told = stretch(progress, _EVENTS, 1.0)
    for number, rule in enumerate(rules):
        go_on(cancelled, "not every rule was asked yet")
        told(number / len(rules), rule.name)
        if lacking[rule.name]:
            why = Why(kind="", parts={}, sentence=f"The car has {lacking[rule.name]}.")
            found.append(CheckedRule(rule=rule, claims=(), lacks=lacking[rule.name], why=why))
            continue
        claims = tuple(_claim(rule, claim, runs, standing, vector) for claim in rule.claims)
        claims = tuple(one for one in claims if one.cells)
        found.append(CheckedRule(rule=rule, claims=claims, lacks="", why=_why(rule, claims, runs)))
    return found


def _changes(rules: Iterable[Rule]) -> list[Change]:
    every = [change for rule in rules for change in (rule.change, rule.back, rule.before or AS_IT_STANDS)]
    return list(dict.fromkeys([AS_IT_STANDS, *every]))


def _run(
    name: str,
    event: RigEvent,
    car: Car,
    vector: Array,
    rules: Sequence[Rule],
    vectors: Mapping[Change, Array | None],
) -> _Run:
    """Put the car as it stands, and every change that a rule asks of an event, through it."""
    changes = [c for c in _changes(rules) if vectors[c] is not None]
    batch = stacked([v for c in changes if (v := vectors[c]) is not None])
    motion = event.motion(car, stable_step(batch))
    history = run_rig(batch, motion)
    run = _Run(batch, {change: row for row, change in enumerate(changes)}, motion, history)
    if name in (*CORNERS, *TURN_INS):
        run.series = corner_series(batch, history, motion)
    else:
        run.numbers = bump_numbers(batch, history, motion)
    return run


def _claim(
    rule: Rule,
    claim: Claim,
    runs: Mapping[str, _Run],
    car: Car,
    vector: Array,
) -> CheckedClaim:
    if claim.way == "smoother is wider":
        cells = _widths(claim, car, vector)
    elif claim.quantity == "yaw_response_time":
        cells = _responses(rule, claim, car, vector)
    else:
        cells = [
            _cell(claim, name, window, back, before, after, vector)
            for name in claim.events
            if name in runs
            for back, change in ((False, rule.change), (True, rule.back))
            for window in claim.windows
            for before in [runs[name].value(rule.before or AS_IT_STANDS, claim, window)]
            for after in [runs[name].value(change, claim, window)]
        ]
    return CheckedClaim(claim=claim, cells=tuple(cells))


def _cell(
    claim: Claim, event: str, window: str, back: bool, before: float, after: float, vector: Array
) -> Cell:
    limit = hardly(claim.quantity, claim.axle, vector)
    return Cell(
        event=event,
        window=window,
        back=back,
        unit=json_unit(QUANTITIES[claim.quantity].unit),
        before=before,
        value=after - before,
        hardly_measurable=limit,
        outcome=outcome_of(claim, value=after - before, hardly=limit, back=back),
    )


def _widths(claim: Claim, car: Car, vector: Array) -> list[Cell]:
    """Return the width of the range of good ratios on each class of road, smooth to rough."""
    cells: list[Cell] = []
    is_open = False
    cost = hardly(claim.quantity, claim.axle, vector)
    for name in claim.events:
        road = RoughRoad(
            speed=standard_road(car).speed,
            road_class=name.split()[1],
            duration=_MAP_DURATION,
        )
        assert claim.axle
        good = good_ratios(damper_map(car, road, axle=claim.axle, size=_MAP_SIZE), cost=cost)
        limit = hardly("ratio_width", "", vector)
        outcome = _narrower(good.width, cells[-1].value, is_open, limit) if cells else "unknown"
        is_open = good.low_open or good.high_open
        cells.append(
            Cell(
                event=name,
                window="",
                back=False,
                unit=QUANTITIES["ratio_width"].unit,
                before=0.0,
                value=good.width,
                hardly_measurable=limit,
                outcome=outcome,
            )
        )
    return cells


def _narrower(width: float, smoother: float, smoother_open: bool, limit: float) -> Outcome:
    """Say whether a range is narrower than that of a smoother road, which may reach beyond the map."""
    if smoother - width > limit:
        return "agrees"
    if smoother_open:
        return "unknown"
    return "hardly" if width - smoother <= limit else "against"


def _responses(rule: Rule, claim: Claim, car: Car, vector: Array) -> list[Cell]:
    """Return how soon yaw follows the steering, by the drive."""
    event = StepSteer(speed=standard_corners(car)["medium corner"].speed, lateral_acceleration=4.0)
    cars = [changed_car(car, change) for change in (AS_IT_STANDS, rule.change, rule.back)]
    there = [one for one in cars if one is not None]
    try:
        times = iter([one.yaw_rate.response_time for one in step_steer_values(drive(there, event))])
        found = [next(times) if one is not None else float("nan") for one in cars]
    except SolveError:
        found = [float("nan")] * 3
    return [
        _cell(claim, "step steer", "", back, found[0], after, vector)
        for back, after in ((False, found[1]), (True, found[2]))
    ]


def _why(rule: Rule, claims: Sequence[CheckedClaim], runs: Mapping[str, _Run]) -> Why:
    """Return the reason of the largest effect of the rule's first claim."""
    if not claims:
        return Why(kind="", parts={}, sentence="None of its events was run.")
    lead = claims[0]
    claim, cell = lead.claim, lead.largest
    if claim.way == "smoother is wider":
        spans = ", ".join(f"{cell.event} {cell.value:.1f}" for cell in lead.cells)
        cost = 100.0 * QUANTITIES["grip_lost"].hardly
        said = (
            f"Highest over lowest ratio of rebound to bump at the {claim.axle} that costs at most {cost:g} "
            f"points of grip, best total damping for each: {spans}. Damper speeds, and with them what a "
            "wrong ratio costs, grow with the road's height."
        )
        return Why(kind="load", parts={}, sentence=said)
    if claim.quantity in ("yaw_response_time", "stability_reserve"):
        return Why(kind="", parts={}, sentence=_response_words(claim, cell))
    run = runs[cell.event]
    row = run.rows.get(rule.change)
    if row is None:
        return Why(kind="", parts={}, sentence="The parameter's range does not allow the change.")
    lead_in = f"{rule.change.name}: "
    if not cell.window:
        than = run.rows[rule.before or AS_IT_STANDS]
        path = bump_path(run.history, run.motion, car=row, name=cell.event, than=than)
        kind, sentence, parts = bump_sentence(path, claim.quantity)
        return Why(kind=kind, parts=parts, sentence=_capital(lead_in + sentence))
    phase, _, half = cell.window.partition(".")
    split = phase_path(run.vectors, run.history, run.motion, car=row, where=(cell.event, phase, half))
    kind, sentence, parts = phase_sentence(split)
    if claim.about == "load":
        sentence = f"{load_words(split)}. {_capital(sentence)}"
    if any(one.claim.about == "attitude" for one in claims):
        sentence += " Besides, " + height_sentence(split)[1]
    return Why(kind=kind, parts=parts, sentence=_capital(lead_in + sentence))


def _response_words(claim: Claim, cell: Cell) -> str:
    if cell.value != cell.value:
        return "It could not be computed for this car: no steady turn, or tyres beyond what they can deliver."
    unit, scale = ("ms", 1e3) if claim.quantity == "yaw_response_time" else ("1/s", 1.0)
    before, after = scale * cell.before, scale * (cell.before + cell.value)
    return (
        f"{_capital(claim.quantity.replace('_', ' '))} {after:.4g} {unit} instead of {before:.4g} {unit}; "
        "computed as a whole and not split into paths of load."
    )


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]
