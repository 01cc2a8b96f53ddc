"""Why a change helps: sentences made from the computed paths of load, with their numbers."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import degrees

from fourpatch.advice.change_set import ChangeSet, changed_setup
from fourpatch.advice.cure import Cure
from fourpatch.advice.paths import PATHS, BumpPath, Pair, PhasePath, bump_paths, phase_paths
from fourpatch.advice.target import HARDLY, STEP_STEER, Target
from fourpatch.car.adjusters import Adjuster
from fourpatch.car.car import Car
from fourpatch.car.scale_words import counted
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.events.corner import Corner
from fourpatch.events.step_steer import StepSteer
from fourpatch.events.track_corner import CornerOnLap

_WORTH_SAYING = 0.15  # share of the change from which on another path is named too
_CAUSES = {
    "load": "load",
    "lateral share": "lateral share",
    "attitude": "attitude",
    "forces asked for": "the force each axle is asked for",
    "tyre grip": "the grip of the tyres themselves",
    "differential": "the differential",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """Why one change of a set does what it does to one complaint."""

    complaint: int
    adjuster: int
    steps: int
    kind: str
    """The path most of it takes: one of `PATHS`, or empty where it is not split."""
    sentence: str
    parts: dict[str, float]
    """Points by path; empty where the number is not a balance or a use."""


def reasons(car: Car, setup: Setup, answer: Cure, chosen: ChangeSet) -> list[Reason]:
    """Return why each change of a set does what it does to each complaint, by running each alone."""
    adjusters = answer.table.adjusters
    cars = [
        apply_setup(car, setup),
        *(
            apply_setup(car, changed_setup(setup, adjusters, (change,), setup.name))
            for change in chosen.changes
        ),
    ]
    found = []
    for place, target in enumerate(answer.targets):
        said = _said(answer, target, cars, chosen)
        for (adjuster, steps), (kind, sentence, parts) in zip(chosen.changes, said, strict=True):
            whole = f"{step_words(adjusters[adjuster], setup, steps)}: {sentence}"
            whole += _spared(answer, chosen, adjuster, steps)
            found.append(
                Reason(
                    complaint=place,
                    adjuster=adjuster,
                    steps=steps,
                    kind=kind,
                    sentence=whole[0].upper() + whole[1:],
                    parts=parts,
                )
            )
    return found


def _spared(answer: Cure, chosen: ChangeSet, adjuster: int, steps: int) -> str:
    """Say what a change that does little for the complaints is in a set for; empty if it does enough."""
    step = answer.table.effects[adjuster, int(steps > 0)]
    names, present = answer.names, answer.table.present
    for target, wanted in zip(answer.targets, answer.wanted, strict=True):
        one = target.value(names, present + abs(steps) * step)
        if abs(target.moved(answer.present(target), one)) >= _WORTH_SAYING * wanted:
            return ""
    without = chosen.values - abs(steps) * step
    best, said = _WORTH_SAYING, ""
    for guard in answer.guards:
        before = guard.value(names, present)
        ends = (guard.value(names, values) for values in (without, chosen.values))
        worse = [max(float(guard.worsening(before, end)), 0.0) for end in ends]
        if (worse[0] - worse[1]) / guard.tolerance > best:
            best = (worse[0] - worse[1]) / guard.tolerance
            kept = f"by {100.0 * worse[1] / guard.tolerance:.0f} %" if worse[1] > 0.0 else "no worse than now"
            said = (
                f" It is in the set for what it spares elsewhere: without it {guard.label} would become "
                "worse by "
                f"{100.0 * worse[0] / guard.tolerance:.0f} % of what is tolerated, with it {kept}."
            )
    return said


def step_words(one: Adjuster, setup: Setup, steps: int) -> str:
    """Return a change as a driver makes it: ``front bar 2 positions down, 4 to 2``."""
    at = setup.position(one)
    to = one.nearest(at + steps * one.step)
    way = "up" if steps > 0 else "down"
    return f"{one.name} {counted(abs(to - at), one.unit)} {way}, {at:g} to {to:g}"


Said = tuple[str, str, dict[str, float]]
"""The path most of it takes, the sentence, and points by path."""


def _said(answer: Cure, target: Target, cars: Sequence[Car], chosen: ChangeSet) -> list[Said]:
    event, phase, window = _clearest(answer, target, chosen)
    test = answer.table.events[event]
    quantity = target.terms[0][0].split(".")[-2 if target.terms[0][0].endswith((".front", ".rear")) else -1]
    if isinstance(test, Corner | CornerOnLap) and (
        quantity.endswith("balance") or quantity == "longitudinal_use"
    ):
        axle = {"front": 0, "rear": 1}.get(target.terms[0][0].split(".")[-1])
        paths = phase_paths(cars, test, name=event, phase=phase, window=window, traction_of=axle)
        return [phase_sentence(path, axle) for path in paths]
    if isinstance(test, Corner | CornerOnLap):
        paths = phase_paths(cars, test, name=event, phase=phase, window=window)
        return [height_sentence(path) for path in paths]
    if not isinstance(test, StepSteer):
        return [bump_sentence(path, quantity) for path in bump_paths(cars, test, name=event)]
    assert event == STEP_STEER
    return [("", _response_sentence(answer, target, place, steps), {}) for place, steps in chosen.changes]


def _clearest(answer: Cure, target: Target, chosen: ChangeSet) -> tuple[str, str, str]:
    """Return event, phase and half of it, of the part of a complaint that the changes move most."""
    names = answer.names
    change = chosen.values - answer.table.present

    def size(name: str) -> float:
        return float(abs(change[names.index(name)]))

    parts = max((name for name, _ in target.terms), key=size).split(".")
    window = next((half for half in ("early", "late") if parts[-1].startswith(half)), "")
    return parts[0], parts[1], window


def phase_sentence(path: PhasePath, traction_of: int | None = None) -> Said:
    """Say what a change does to the balance, or to an axle's traction, in a phase, and by which paths."""
    kind = max(PATHS, key=lambda name: abs(path.parts[name]))
    where = _where(path)
    if abs(path.change) < 0.005:
        return kind, f"does nothing measurable {where}.", path.parts
    if traction_of is None:
        way = "understeer" if path.change > 0.0 else "oversteer"
        said = (
            f"the balance {where} moves by {abs(path.change):.2f} points towards {way}"
            f"{_hardly(path.change)}: the front uses {_of_its_grip(path.use, 0)}, the rear "
            f"{_of_its_grip(path.use, 1)}."
        )
    else:
        axle = ("front", "rear")[traction_of]
        less = "less" if path.change < 0.0 else "more"
        said = (
            f"the {axle} axle uses {abs(path.change):.2f} points {less} of its traction {where}"
            f"{_hardly(path.change)}."
        )
    others = [
        name
        for name in sorted(PATHS, key=lambda name: -abs(path.parts[name]))
        if name != kind and abs(path.parts[name]) >= max(_WORTH_SAYING * abs(path.change), 0.01)
    ]
    said += f" It is {_CAUSES[kind]} ({_points(path.parts[kind])}): {_FRAGMENTS[kind](path)}."
    for name in others:
        against = path.parts[name] * path.parts[kind] < 0.0
        said += (
            f" {'Against it works' if against else 'With it works'} {_CAUSES[name]} "
            f"({_points(path.parts[name])}): {_FRAGMENTS[name](path)}."
        )
    return kind, said, path.parts


def _where(path: PhasePath) -> str:
    half = {"early": "in the first half of ", "late": "in the second half of "}.get(path.window, "")
    phase = {"mid": "mid-corner", "entry": "the entry", "exit": "the exit"}.get(path.phase, path.phase)
    lead = half or {"mid": "at ", "braking": "under "}.get(path.phase, "on ")
    return f"{lead}{phase} of {'' if path.event.startswith('corner') else 'the '}{path.event}"


def _hardly(change: float) -> str:
    return ", hardly measurable" if abs(change) < HARDLY else ""


def instead(after: str, before: str, unit: str) -> str:
    """Say what a number is now and was before, both as they are written: ``69.7 % as before``."""
    return f"{after} {unit} as before" if after == before else f"{after} {unit} instead of {before} {unit}"


def _of_its_grip(pair: Pair, axle: int) -> str:
    after, before = (f"{100.0 * use[axle]:.1f}" for use in (pair.after, pair.before))
    return instead(after, before, "% of its grip")


def _points(value: float) -> str:
    text = f"{value:+.2f}"
    return "0.00" if float(text) == 0.0 else text


def _newtons(value: float) -> str:
    text = f"{value:+.0f}"
    return "0 N" if float(text) == 0.0 else f"{text} N"


def _more_or_less(change: float) -> str:
    return f"{abs(change):.0f} N {'less' if change < 0.0 else 'more'}"


def load_words(path: PhasePath) -> str:
    """Say what each axle carries after a change and before."""
    said = []
    for axle, name in enumerate(("front", "rear")):
        change, aero = path.axle_load.change[axle], path.downforce.change[axle]
        after, before = (f"{load[axle]:.0f}" for load in (path.axle_load.after, path.axle_load.before))
        of_it = f", {_newtons(aero)} of it downforce" if abs(aero) >= 0.5 else ""
        change_too = f" ({_newtons(change)}{of_it})" if after != before else ""
        said.append(f"the {name} axle carries {instead(after, before, 'N')}{change_too}")
    return " and ".join(said)


def _lateral_share(path: PhasePath) -> str:
    said = []
    if max(abs(change) for change in path.transfer.change) < 0.5:
        said.append("of neither pair do inner and outer load change by 1 N")
    for axle, name in enumerate(("front", "rear")):
        change = path.transfer.change[axle]
        if abs(change) < 0.5:
            said += [] if said else [f"the {name} pair's inner and outer loads stay as they were"]
            continue
        others = change - path.elastic.change[axle] - path.geometric.change[axle] - path.damper.change[axle]
        parts = (
            ("springs, bars and stops", path.elastic.change[axle]),
            ("links", path.geometric.change[axle]),
            ("dampers", path.damper.change[axle]),
            ("wheels' own mass and cross weight", others),
        )
        split = ", ".join(f"{part} {_newtons(size)}" for part, size in parts if abs(size) >= 0.5)
        less = "less" if change < 0.0 else "more"
        said.append(
            f"the {name} pair shifts {abs(change):.0f} N {less} from the inner to the outer tyre ({split})"
        )
    before, after = (
        100.0 * front / (front + rear) if abs(front + rear) > 1.0 else float("nan")
        for front, rear in (path.transfer.before, path.transfer.after)
    )
    share = instead(f"{after:.1f}", f"{before:.1f}", "%")
    return f"{' and '.join(said)}, so the front's share of it is {share}"


def _rides(heights: Pair, axle: int, name: str) -> str:
    after, before = (f"{1e3 * height[axle]:.1f}" for height in (heights.after, heights.before))
    return f"the {name} rides {instead(after, before, 'mm')} over the road"


def _attitude(path: PhasePath) -> str:
    said = []
    for axle, name in enumerate(("front", "rear")):
        camber = path.outer_camber
        if abs(degrees(camber.change[axle])) >= 0.005:
            after, before = (f"{degrees(angle[axle]):.2f}" for angle in (camber.after, camber.before))
            said.append(f"the outer {name} wheel stands at {instead(after, before, 'deg')} of camber")
        if abs(path.ride_height.change[axle]) >= 5e-5:
            said.append(_rides(path.ride_height, axle, name))
    return ", ".join(said) or "the wheels' angles to the road change by less than 0.005 deg, toe apart"


def _newtons_of(force: Pair, axle: int) -> tuple[str, str]:
    return _newtons(force.after[axle])[:-2], _newtons(force.before[axle])[:-2]


def _sizes_of(force: Pair, axle: int) -> tuple[str, str]:
    return f"{abs(force.after[axle]):.0f}", f"{abs(force.before[axle]):.0f}"


def _forces(path: PhasePath) -> str:
    along, across = path.longitudinal_force, path.lateral_force
    said = [
        f"the {name} axle's force along the road is {instead(*_newtons_of(along, axle), 'N')}"
        for axle, name in enumerate(("front", "rear"))
        if abs(along.change[axle]) >= 0.5
    ]
    said += [
        f"the {name} is asked for {instead(*_sizes_of(across, axle), 'N')} across the car"
        for axle, name in enumerate(("front", "rear"))
        if not said and abs(across.change[axle]) >= 0.5
    ]
    return " and ".join(said) or "forces change by less than 1 N"


def _differential(path: PhasePath) -> str:
    said = []
    for axle, name in enumerate(("front", "rear")):
        asked, along = path.lock_demand.change[axle], path.lock_traction.change[axle]
        if abs(asked) >= 0.5:
            said.append(f"the {name} is asked for {_more_or_less(asked)} lateral force")
        if abs(along) >= 0.5:
            said.append(f"the {name} wheels together can put down {_more_or_less(along)}")
    return " and ".join(said) or "it locks more or less of the drive or overrun torque between the wheels"


def _tyre(path: PhasePath) -> str:
    return "at the same loads and angles, pressure or stiffness gives the tyres another peak"


_FRAGMENTS: dict[str, Callable[[PhasePath], str]] = {
    "load": load_words,
    "lateral share": _lateral_share,
    "attitude": _attitude,
    "forces asked for": _forces,
    "tyre grip": _tyre,
    "differential": _differential,
}


def height_sentence(path: PhasePath) -> Said:
    """Say what a change does to the ride heights in a phase."""
    heights = path.ride_height
    said = " and ".join(
        _rides(heights, axle, name)
        for axle, name in enumerate(("front", "rear"))
        if abs(heights.change[axle]) >= 5e-5
    )
    return "attitude", f"it is attitude: {_where(path)} {said or 'the ride heights stay as they are'}.", {}


def bump_sentence(path: BumpPath, quantity: str) -> Said:
    """Say what a change does to the forces over bumps."""
    if quantity.endswith("height_least"):
        front, rear = (_higher(change) for change in path.ride_height.change)
        said = (
            f"the car rides {front} in front and {rear} at the rear"
            if front != rear
            else f"both ends ride {front}"
        )
        return "attitude", f"it is attitude: on the {path.event} {said}; {_force_words(path)}.", {}
    return "load", f"it is load that comes and goes: on the {path.event} {_force_words(path)}.", {}


def _higher(change: float) -> str:
    size = f"{abs(1e3 * change):.1f}"
    return "as high as before" if float(size) == 0.0 else f"{size} mm {'higher' if change > 0.0 else 'lower'}"


def _force_words(path: BumpPath) -> str:
    throw = path.event.startswith("kerb")
    damper, elastic = (path.damper_peak, path.elastic_peak) if throw else (path.damper_rms, path.elastic_rms)
    verb = "push a wheel's corner of the body up with at most" if throw else "vary by"
    suffix = "" if throw else " RMS"
    return (
        " and ".join(
            f"the {name} dampers {verb} {_force(damper, axle, suffix)}, springs and stops "
            f"{_force(elastic, axle, suffix)}"
            for axle, name in enumerate(("front", "rear"))
            if max(abs(damper.change[axle]), abs(elastic.change[axle])) >= 0.5
        )
        or "damper and spring forces change by less than 1 N"
    )


def _force(pair: Pair, axle: int, suffix: str) -> str:
    return instead(f"{pair.after[axle]:.0f}", f"{pair.before[axle]:.0f}", f"N{suffix}")


def _response_sentence(answer: Cure, target: Target, place: int, steps: int) -> str:
    one_step = float(answer.moved(target, place)[int(steps > 0)])
    before = answer.present(target)
    after = before - target.sign * abs(steps) * one_step
    unit, scale = ("ms", 1e3) if target.unit == "s" else (target.unit, 1.0)
    return (
        f"{target.meaning}: about {scale * after:.4g} {unit} instead of {scale * before:.4g} {unit}, "
        "one-step "
        "effects added up; the drive computes it as a whole and it is not split into paths of load."
    )
