"""What is said about a cure, in sentences and cells: the command line and the app both show these."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from fourpatch.advice.because import step_words
from fourpatch.advice.change_set import ChangeSet, left_alone
from fourpatch.advice.complaint import numbered
from fourpatch.advice.complaint_text import Reading, said_elsewhere
from fourpatch.advice.course import MARGINS
from fourpatch.advice.cure import Cure, Lever
from fourpatch.advice.draws import Sureness
from fourpatch.advice.drive_check import DriveNumber
from fourpatch.advice.driven_corner import PACE
from fourpatch.advice.guard import Guard
from fourpatch.advice.powerless import doubt, powerless
from fourpatch.advice.sets import CURED
from fourpatch.advice.target import HARDLY, Target
from fourpatch.car.scale_words import counted
from fourpatch.picture.if_true_words import shown_text
from fourpatch.picture.shown import measure_of, pretty, shown

MOST_LEVERS = 12
"""Adjusters in a table; the rest is named below it."""

NO_LEVER = "No adjuster that is left to turn does anything for this complaint."

NO_SET = (
    "There is no set of changes to advise: none of one, two or three of them brings it nearer to what is "
    "wanted and still does so when it is driven. Single steps are above; turn one you trust and try it."
)

NO_GOOD_SET = (
    "No set of up to three changes moves it as far as wanted without making something else worse than is "
    "tolerated. The nearest:"
)

_COSTS = 4  # side effects of a set that are named
_LAP_SHOWN = 0.005  # change of a lap that is not 0.00 when written [s]


def sets_note(found: Cure) -> str:
    """Say what has to be said of the sets of changes as a whole: that there is none, or none that is good."""
    if found.first or found.stopped or not found.levers:
        return ""
    if not found.sets:
        return NO_SET
    return "" if any(one.cured and not one.broken for one in found.sets) else NO_GOOD_SET


def read_as(reading: Reading) -> str:
    """Say what was understood of a complaint, and what was not."""
    said = f"Read as: {'; '.join(one.text() for one in reading.complaints)}."
    for wish in reading.wished:
        said += f' "{wish}" is taken as a wish, so the complaint is that it is missing.'
    for remark in said_elsewhere(reading):
        said += f" {remark}"
    if reading.question is not None:
        said += f' "{reading.question.words}": {reading.question.said}'
    if reading.slips:
        said += f" Slips mended: {', '.join(f'{typed} to {taken}' for typed, taken in reading.slips)}."
    if reading.unread:
        said += f" Not understood and left out: {', '.join(reading.unread)}."
    if reading.denied:
        said += f" Said not to be so, and left out: {'; '.join(reading.denied)}."
    return said


def unit_text(target: Target) -> str:
    """Return the unit in which a complaint's number is shown."""
    return pretty(measure_of(target.unit).shown)


def value_text(value: float, target: Target, *, signed: bool = False) -> str:
    """Return a complaint's number without its unit; a balance always has its sign."""
    decimals = {"s": 1, "m": 2, "points": 2}.get(target.unit)
    if decimals is None:
        return shown(value, target.unit, signed=signed)
    number = value / measure_of(target.unit).scale
    return f"{number:+.{decimals}f}" if signed or target.unit == "points" else f"{number:.{decimals}f}"


def measured_text(found: Cure, place: int) -> str:
    """Say which number stands for a complaint, where it is, what is wanted, and if the model shows it."""
    target, wanted = found.targets[place], found.wanted[place]
    present = found.present(target)
    to = "down" if target.sign > 0.0 else "up"
    amount = value_text(wanted, target).lstrip("+")
    goal = (
        f"A first change brings it {to} by {amount} {unit_text(target)}."
        if found.sized_by[place] == "felt"
        else f"Cured means {to} by {amount} {unit_text(target)}, to a tenth of that."
    )
    said = f"Measured by the {target.meaning}: now {value_text(present, target)} {unit_text(target)}. {goal}"
    shows = found.shows(target)
    if shows is None:
        said += " Nobody has published from where on such a number is a complaint, so take the driver's word."
    elif shows:
        said += " The model shows the complaint."
    else:
        text = doubt(found, place)
        said += f" {text[0].upper()}{text[1:]}"
    return " ".join([said, *target.notes])


def corner_beside(found: Cure) -> str:
    """Return the corner whose phases stand beside the ranking: one complained of, else the middle one."""
    for target in found.targets:
        asked = target.complaint
        if asked.corners or asked.place.endswith("corner"):
            return found.course.corners_of(asked)[0]
    typical = found.course.typical(found.course.corners)
    return typical[len(typical) // 2]


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A number beside the ranking: what the same step changes elsewhere."""

    text: str
    shown_in: str
    """Unit, as shown; empty for a balance, whose unit the title says."""
    unit: str
    terms: tuple[str, ...]
    """Dotted names of the measures whose mean it is."""

    def change(self, found: Cure, lever: Lever) -> str:
        """Return what one step of a lever changes, as shown."""
        effect = found.table.effects[lever.adjuster, int(lever.direction > 0)]
        values = [float(effect[found.names.index(name)]) for name in self.terms]
        return shown(sum(values) / len(values), self.unit, signed=True)


def columns_elsewhere(found: Cure) -> list[Column]:
    """Return what stands beside the ranking, as far as it is known: balance in one corner, bumps, a kerb."""
    corner = corner_beside(found)
    columns = [
        Column(text=phase, shown_in="", unit="points", terms=(f"{corner}.{phase}.balance",))
        for phase in found.course.phases[corner]
    ]
    for text, quantity in (("grip lost\non bumps", "grip_lost"), ("off ground\non bumps", "time_off_ground")):
        terms = tuple(f"rough road.{quantity}.{end}" for end in ("front", "rear"))
        columns.append(Column(text=text, shown_in="%", unit="1", terms=terms))
    columns.append(Column(text="kerb\nthrow", shown_in="mm", unit="m", terms=("kerb.body_throw",)))
    known = set(found.names)
    return [one for one in columns if known.issuperset(one.terms)]


def title_elsewhere(found: Cure) -> str:
    """Return the title of those columns."""
    corner = corner_beside(found)
    where = f"the {corner}" if corner.endswith("corner") else corner
    return f"what the same step changes: balance in {where} [points], bumps, a kerb"


def course_text(found: Cure) -> str:
    """Say what of a track was taken for what; empty without one."""
    return " ".join(found.course.notes)


def way(direction: int) -> str:
    """Return which way an adjuster is turned."""
    return "up" if direction > 0 else "down"


def lever_name(found: Cure, lever: Lever) -> str:
    """Return one step of an adjuster, the way that helps: ``front bar, 1 position down``."""
    one = found.table.adjusters[lever.adjuster]
    return f"{one.name}, {counted(one.step, one.unit)} {way(lever.direction)}"


def left_text(lever: Lever) -> str:
    """Return how many steps of a lever are left for a cure."""
    return "not used" if lever.against or not lever.left else str(lever.left)


def lever_notes(found: Cure) -> Iterator[str]:
    """Yield what is to be said below the ranking: what is not used and why, and what is hardly measurable."""
    if len(found.levers) > MOST_LEVERS:
        yield f"Less: {', '.join(lever_name(found, lever) for lever in found.levers[MOST_LEVERS:])}."
    alone = {one.name: left_alone(one) for one in (found.table.adjusters[v.adjuster] for v in found.levers)}
    if any(alone.values()):
        named = "; ".join(f"{name} ({why})" for name, why in alone.items() if why)
        yield f"Not used in what follows: {named}."
    against = [lever_name(found, lever) for lever in found.levers if lever.against]
    if against:
        yield (
            "Not used either, for in the drive they do nothing at mid-corner, or the opposite of what the "
            "rig says, or are of the differential and do not show in the driven corner what the rig credits: "
            f"{'; '.join(against)}."
        )
    if any(found.targets[0].unit == "points" and lever.per_step[0] < HARDLY for lever in found.levers):
        yield (
            f"Steps under {HARDLY:g} points are hardly measurable: a point of balance is one hundredth of "
            "an axle's grip, half a per cent of corner speed."
        )


def changes_text(found: Cure, chosen: ChangeSet) -> str:
    """Return a set as a driver makes it."""
    adjusters = found.table.adjusters
    return "; ".join(step_words(adjusters[k], found.setup, steps) for k, steps in chosen.changes)


def outcome(found: Cure, one: ChangeSet) -> Iterator[str]:
    """Say what a set does to each complaint, and what it costs elsewhere."""
    for place, (target, predicted, confirmed, share) in enumerate(
        zip(found.targets, one.predicted, one.confirmed, one.progress, strict=True)
    ):
        comes_to = (
            f"{percent(share)} of a first change"
            if found.sized_by[place] == "felt" and share > 0.0
            else f"{percent(share)} of what is wanted: {cured_text(share)}"
        )
        yield (
            f"{target.complaint.text()}: {value_text(found.present(target), target)} to "
            f"{value_text(confirmed, target)} {unit_text(target)} (steps added up said "
            f"{value_text(predicted, target)}), {comes_to}."
        )
        if target.complaint.phase == "exit" and target.phases():
            yield traction_text(found, place, one)
    yield costs_text(one.worse)
    if one.lap is not None:
        yield lap_text(one.lap)


def traction_text(found: Cure, place: int, one: ChangeSet) -> str:
    """Say how much of its drive the driven axle uses on exit: the other number there, beside the balance."""
    corners = dict.fromkeys(corner for corner, _ in found.targets[place].phases())
    used = {}
    for axle in ("front", "rear"):
        places = [found.names.index(f"{corner}.exit.longitudinal_use.{axle}") for corner in corners]
        used[axle] = (float(found.table.present[places].mean()), float(one.values[places].mean()))
    axle = max(used, key=lambda name: used[name][0])  # the driven one, or the one that drives harder
    before, after = (100.0 * share for share in used[axle])
    return (
        f"Traction on exit: the {axle} axle uses {before:.1f} % of the drive it can put down before a wheel "
        f"spins, and {after:.1f} % with this set; the less, the more throttle it takes."
    )


def lap_text(change: float) -> str:
    """Say what a set does to the quasi-steady lap, in hundredths of a second."""
    said = f"{change:+.2f} s" if abs(change) >= _LAP_SHOWN else "the same to a hundredth of a second"
    return (
        f"Lap: {said} (quasi-steady, with {100.0 * MARGINS.braking:.0f} to {100.0 * MARGINS.lateral:.0f} % "
        "of the grip)."
    )


def percent(share: float, *, signed: bool = False) -> str:
    """Return a share in whole per cent; nothing has no sign."""
    whole = round(100.0 * share)
    return f"{whole:+d} %" if signed and whole else f"{whole} %"


def cured_text(share: float) -> str:
    """Say how far a share of what is wanted goes."""
    if round(share, 2) < 0.0:
        return "worse than it was"
    return "cured" if share >= CURED else "not cured" if share < 0.5 else "cured in part"


def costs_text(worse: Sequence[tuple[Guard, float]]) -> str:
    """Say what becomes worse elsewhere, and by how much."""
    costs = [pair for pair in worse if pair[1] >= 0.1 * pair[0].tolerance]
    if not costs:
        return "Nothing else becomes worse by more than a tenth of what is tolerated."
    said = "; ".join(_cost(guard, by) for guard, by in costs[:_COSTS])
    more = f"; and {len(costs) - _COSTS} smaller" if len(costs) > _COSTS else ""
    return f"Costs: {said}{more}."


def _cost(guard: Guard, worse: float) -> str:
    scale, unit = (1.0, "points") if guard.unit == "points" else (measure_of(guard.unit).scale, "")
    unit = unit or pretty(measure_of(guard.unit).shown)
    word = {
        "away from zero": "further from neutral by",
        "below zero": "by",
        "rise": "up by",
        "fall": "down by",
    }[guard.harm]
    over = ", MORE THAN TOLERATED" if worse > guard.tolerance else ""
    return f"{guard.label} {word} {worse / scale:.2f} {unit} (tolerated {guard.tolerance / scale:.2g}{over})"


def drive_heads(sets: int) -> list[str]:
    """Return the heads of the drive's numbers: the car as it stands, then each set."""
    return ["as it stands", *(f"set {k}" for k in range(1, sets + 1))]


def drive_cells(one: DriveNumber) -> list[str]:
    """Return a number of the drive as it stands and with each change, marked where it moves the wrong way."""
    after = zip(one.after, one.agrees, strict=True)
    return [
        driven_text(one.before, one.unit),
        *(
            driven_text(value, one.unit) + (f" {WRONG_WAY}" if agrees is False else "")
            for value, agrees in after
        ),
    ]


WRONG_WAY = "(!)"
"""Behind a number of the drive that moves against what the complaint asks for."""


def drive_where(found: Cure) -> Iterator[str]:
    """Yield how corners are driven, and in which the drive was asked where a complaint is about more."""
    if any(one.driven for one in found.driven):
        yield (
            f"Corners are driven at {100.0 * PACE:.0f} % of the rig's speeds, on a smooth road. In the same "
            "motion rig and drive come to one balance; a driven car moves otherwise, for its driver looks "
            "ahead and corrects."
        )
    for target, one in zip(found.targets, found.driven, strict=True):
        asked = len({*one.steady, *(corner.name for corner in one.driven)})
        if one.of > asked:
            yield (
                f"Of the {one.of} corners of {target.complaint.text()} the drive was asked in {asked}: the "
                "one where it is worst, and the middle one of each speed class."
            )


def drive_notes(drive: Sequence[DriveNumber], names: Sequence[str]) -> Iterator[str]:
    """Yield where the drive contradicts the rig.

    Parameters
    ----------
    names : of the changes, as the sentence begins.
    """
    for place, name in enumerate(names):
        wrong = [one.name for one in drive if one.agrees[place] is False]
        if wrong:
            yield (
                f"{name}: here the drive contradicts the rig ({'; '.join(wrong)}). Do not make this change "
                "before a recording has said which holds."
            )


def driven_text(value: float | None, unit: str) -> str:
    """Return a number of the drive with its unit."""
    if not unit:
        return "-"
    if value is None:
        return "never"
    if unit == "points":
        return f"{value:+.2f} points"
    measure = measure_of(unit)
    decimals = {"rad": 3, "s": 1, "1": 1, "1/s": 3, "m/s^2": 2}[unit]
    return f"{value / measure.scale:.{decimals}f} {pretty(measure.shown)}"


def limits_text(found: Cure) -> Iterator[str]:
    """Yield what adjusters cannot do: those at a stop, and groups that are too weak."""
    for one in found.at_stop:
        yield (
            f"{found.table.adjusters[one.adjuster].name} is at its stop; further "
            f"{way(one.direction)} would help (its last step back loses "
            f"{100.0 * one.back:.0f} % of what is wanted)."
        )
    for place, target in enumerate(found.targets):
        yield from _powerless_words(found, place, target)


def _at_most(value: float, target: Target) -> str:
    """Say what a group of adjusters can do at most: nothing where no digit of it would show."""
    text = value_text(value, target).lstrip("+")
    return (
        f"at most {text} {unit_text(target)} at a stop" if float(text) else "nothing that could be measured"
    )


def _powerless_words(found: Cure, place: int, target: Target) -> Iterator[str]:
    for one in powerless(found, place):
        if one.system == "dampers":
            against = (
                f", where one step of {one.strongest} is {value_text(one.strongest_step, target).lstrip('+')}"
                if one.strongest
                else ""
            )
            reason = (
                " Dampers move load only while the car rolls, pitches or heaves, and hold none once it has "
                "taken its set."
                if target.complaint.phase == "mid"
                else ""
            )
            yield (
                f"Dampers do not cure {target.complaint.text()}: their largest step moves it by "
                f"{value_text(one.step, target).lstrip('+')} {unit_text(target)}{against}, and none reaches "
                f"more than {value_text(one.reach, target).lstrip('+')} of the "
                f"{value_text(found.wanted[place], target).lstrip('+')} wanted at its stop.{reason}"
            )
    others = [one for one in powerless(found, place) if one.system != "dampers"]
    if others:
        named = ", ".join(f"{one.system} ({_at_most(one.reach, target)})" for one in others)
        yield f"Alone, none of these is enough against {target.complaint.text()}: {named}."


NO_SPREAD = (
    "Nothing says how unsure this car's numbers are, so they were taken as they are. Say of those that were "
    "not measured how far off they may be, and this answer will say in how many plausible cars it holds."
)


def sureness_text(found: Cure, sure: Sureness | None) -> Iterator[str]:
    """Yield in how many plausible cars it shows and the sets hold, and which unknown matters most."""
    if sure is None:
        yield NO_SPREAD
        return
    lost = f" {sure.lost} more could not be run." if sure.lost else ""
    lost += " Stopped before all were asked." if sure.stopped else ""
    if sure.asked_in:
        lost += f" Each was asked in {numbered(sure.asked_in)}: of each speed class the middle one."
    yield (
        f"{sure.asked} plausible cars, drawn from the spreads of {sure.uncertain} numbers (seed "
        f"{sure.seed}).{lost}"
    )
    yield from shown_text(found, sure)
    for k, (holds, cures) in enumerate(zip(sure.set_holds, sure.set_cures, strict=True), start=1):
        yield (
            f"Set {k} moves the complaint the right way in {holds} of {sure.asked}, and as far as wanted "
            f"in {cures}."
        )
    for one in sure.unknowns:
        yield (
            f"{one.name} makes {100.0 * one.share:.0f} % of the difference: if it is one standard "
            f"deviation larger, the set brings {100.0 * one.change:+.0f} % of what is wanted. To find it "
            f"out: {one.remedy}."
        )
