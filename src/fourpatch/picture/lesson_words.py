"""The texts of a lesson with their places filled: every number with its unit."""

from math import isnan

from fourpatch.advice.lessons.lesson import PLACE
from fourpatch.advice.lessons.study import Answered, Effect, Said, Study, Turned
from fourpatch.advice.lessons.vocabulary import AT_REST, NOW, at_end, is_balance
from fourpatch.advice.rules.verdict import CheckedRule
from fourpatch.analysis.event_measures import Measure
from fourpatch.analysis.quantity import LOAD_GRADIENT, RATIO, SHARE, Axles
from fourpatch.car.gravity import GRAVITY
from fourpatch.car.scale_words import counted, from_to, standing_at
from fourpatch.picture.rules_words import path_words, place, size
from fourpatch.picture.shown import measure_of, pretty, rounded, words

_DECIMALS = {"N": 0, "m": 1, "1": 1, "points": 2, "s": 0, "m/s": 1}
"""Of numbers of events, in the unit they are shown in."""


def filled(text: str, study: Study) -> str:
    """Return a text with the names and numbers of the car at hand in its places."""
    return PLACE.sub(lambda found: _said(found[1], study), text)


def number_text(value: float, unit: str, *, signed: bool = False) -> str:
    """Return a number of an event with its unit."""
    if unit == "s" and abs(value) >= 1.0:
        return f"{rounded(value, 2, signed=signed)} s"
    measure = measure_of(unit)
    number = rounded(value / measure.scale, _DECIMALS.get(unit, 2), signed=signed)
    return f"{number} {pretty(measure.shown)}"


def moved(effect: Effect, change: float) -> str:
    """Return what a change does, as the verb of a sentence whose subject is the number."""
    way = effect.way(change)
    if isnan(change):
        return "cannot be told: the scale ends there"
    if way == "stays":
        return "hardly changes"
    unit = effect.measure.unit
    if is_balance(effect.measure):
        to = "understeer" if way == "rises" else "oversteer"
        return f"goes {number_text(abs(change), unit)} towards {to}"
    return f"{way} by {change_text(abs(change), unit, signed=False)}"


def change_text(change: float, unit: str, *, signed: bool = True) -> str:
    """Return a change of a number with its unit; of a share in points, which no other share is taken of."""
    return number_text(change, unit, signed=signed).replace("%", "points")


def position_text(turned: Turned) -> str:
    """Return where an adjuster stands."""
    return standing_at(turned.position, turned.adjuster.unit)


CHOICES = (("rises", "a"), ("falls", "b"), ("stays", "c"))
"""The answers that are offered to a question, and the letters before them."""

_VERDICTS = {
    "agrees": "Holds here",
    "depends": "Holds in part",
    "disagrees": "Does not hold here",
    "hardly matters": "Hardly matters here",
    "does not apply": "Does not apply here",
}


def rule_lead(one: CheckedRule | Said) -> str:
    """Return what became of a rule, as the beginning of a sentence."""
    return _VERDICTS[one.verdict]


def rule_said(one: CheckedRule) -> str:
    """Return a rule with the size of its largest effect here, where that is, and the way it takes."""
    rule = one.rule
    if not one.claims:
        return f"“{rule.saying}” {one.why.sentence}"
    lead = one.claims[0]
    of = f"{lead.claim.axle} {words(lead.claim.quantity)}".lstrip()
    said = (
        f"“{rule.saying}” Tried with {rule.change.name}. Most to be seen in the {place(lead.largest)}: {of} "
    )
    said += size(lead, lead.largest)
    path = path_words(one)
    return f"{said}, through {path}." if path else f"{said}."


def saying_said(one: Said) -> str:
    """Return a rule of driving with what the lesson's step does here."""
    what, does = measure_words(one.effect.measure), moved(one.effect, one.effect.said)
    return f"“{one.saying.text}” Here {what}: it {does}."


def measure_words(measure: Measure) -> str:
    """Return what is measured, at which end, and where."""
    of = f"{measure.axle} {words(measure.quantity)}".lstrip()
    return f"{of}, {measure.event}{f', {measure.part}' if measure.part else ''}"


def question_said(one: Answered, study: Study) -> str:
    """Return a question with the answers that are offered."""
    offered = "; ".join(f"{letter}) {filled(getattr(one.check, way), study)}" for way, letter in CHOICES)
    return f"{filled(one.check.asks, study)} {offered}."


def answer_said(one: Answered, study: Study) -> str:
    """Return the right answer with the number that decides."""
    letter = dict(CHOICES)[one.right]
    right = filled(getattr(one.check, one.right), study)
    what, size = measure_words(one.effect.measure), change_text(one.difference, one.effect.measure.unit)
    if one.check.than:
        return f"{letter}) {right}. The difference is {size} ({what})."
    return f"{letter}) {right}. Computed: {what}, {moved(one.effect, one.difference)}."


def most_said(study: Study) -> str:
    """Say what one step does most to, of the numbers that the lesson shows."""
    turned, lesson = study.turned, study.lesson
    if turned is None:
        return f"{study.car.name} has no adjuster for this: there is nothing to turn on it."
    largest = max((study.effect(name) for name in lesson.numbers), key=lambda one: abs(one.said) / one.limit)
    step = f"{step_text(study)} on the {called(turned.adjuster.name)}"
    if largest.way(largest.said) == "stays":
        return f"{step} hardly changes any of these numbers."
    return (
        f"{step} does most to one number: "
        f"{measure_words(largest.measure)}. It {moved(largest, largest.said)}."
    )


def from_where(study: Study) -> str:
    """Say from where steps are counted, and what else could be turned; nothing where nothing is."""
    turned = study.turned
    if turned is None:
        return ""
    one = turned.adjuster
    said = f"This is about the {called(one.name)}. A higher number means: {one.more_means}. "
    said += f"The step looked at is {step_text(study)}, {from_to(turned.position, turned.said, one.unit)}."
    if turned.moved:
        said += " That begins off where it stands, which is too near its stop."
    if turned.others:
        said += f" The same lesson can be had of: {', '.join(map(called, turned.others))}."
    return said


def called(name: str) -> str:
    """Return the name of an adjuster as it can stand in a sentence."""
    return f"“{name}”" if "," in name else name


def step_text(study: Study, *, back: bool = False) -> str:
    """Return the lesson's step, or the same the other way, in words: "3 clicks stiffer"."""
    turned, slider = study.turned, study.lesson.slider
    if turned is None:
        return slider.back if back else slider.said
    size = abs(turned.said - turned.position)
    return f"{counted(round(size, 6), turned.adjuster.unit)} {slider.back if back else slider.said}"


def _said(place: str, study: Study) -> str:
    kind, _, name = place.partition(": ")
    if not name:
        return study.car.name if kind == "car" else _of_adjuster(kind, study)
    if kind == AT_REST:
        return _at_rest(at_end(name, study.end), study)
    effect = study.effect(name)
    if kind == NOW:
        return number_text(effect.now, effect.measure.unit)
    return moved(effect, effect.said if kind == "said" else effect.back)


def _at_rest(name: str, study: Study) -> str:
    stem, _, last = name.rpartition(".")
    quantity = study.at_rest[stem if last in Axles._fields else name]
    value = quantity.values[Axles._fields.index(last) if last in Axles._fields else 0]
    if value is None:
        return "none"
    if quantity.measure is LOAD_GRADIENT:
        return f"{value * GRAVITY:.0f} N per g"
    if quantity.measure in (SHARE, RATIO):
        return f"{100.0 * value:.1f} %"
    return f"{quantity.measure.text(value)} {pretty(quantity.measure.shown)}"


def _of_adjuster(kind: str, study: Study) -> str:
    turned = study.turned
    assert turned is not None  # texts that need one are not filled without
    one = turned.adjuster
    match kind:
        case "adjuster":
            return called(one.name)
        case "stands":
            return position_text(turned)
        case "scale":
            return from_to(one.lowest, one.highest, one.unit)
        case "said":
            return step_text(study)
        case "back":
            return step_text(study, back=True)
    if not turned.end:
        return "whole car"
    return turned.end if kind == "end" else "rear" if turned.end == "front" else "front"
