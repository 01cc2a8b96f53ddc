"""Rules of thumb as one car with one set-up answers them."""

from pydantic import BaseModel, Field

from fourpatch.advice.rules.catalogue import RULES
from fourpatch.advice.rules.check import check_rules
from fourpatch.advice.rules.quantities import QUANTITIES
from fourpatch.advice.rules.rule import SOURCE
from fourpatch.advice.rules.verdict import CheckedClaim, CheckedRule, Outcome, Verdict
from fourpatch.app.answers.definitions import TERMS
from fourpatch.app.jobs import Job, Jobs
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.document.digest import digest
from fourpatch.picture.rules_words import MEANING, cell_rows, on_what, place, size, why_in_short, width_rows

KIND = "rules"


class RuleCell(BaseModel):
    """What one change does to one number of one part of one event."""

    event: str
    window: str = Field(description="Phase or half of it: entry.early; empty for a road or kerb.")
    back: bool = Field(description="Whether it is the change the other way.")
    before: float | None = Field(description="The number without the change, in the claim's `unit`.")
    value: float | None = Field(description="By how much it changes; null where it could not be computed.")
    hardly_measurable: float = Field(description="Change below which it is hardly measurable.")
    outcome: Outcome


class RuleClaim(BaseModel):
    """One thing that a rule says will happen."""

    says: str
    about: str = Field(description="Load, lateral share, attitude or grip.")
    quantity: str
    meaning: str = Field(description="What the quantity is.")
    axle: str
    unit: str = Field(description="SI, or points; a share of grip is 1.")
    verdict: Verdict
    cells: list[RuleCell]
    told: list[list[str]] = Field(
        description="In words, a row per place: where, as said, the other way, outcome; of widths no third."
    )


class RuleAnswer(BaseModel):
    """One rule with its verdict."""

    name: str
    subject: str = Field(description="System of the car it speaks of.")
    saying: str
    source: str
    verdict: Verdict
    lacks: str = Field(description="What the car lacks for the rule to apply; empty if nothing.")
    change: str = Field(description="What was changed as said.")
    back: str = Field(description="What was changed the other way.")
    before: str = Field(description="From where both are counted.")
    size: float | None = Field(
        description="Largest effect of the change as said on what the rule is used for."
    )
    size_unit: str
    size_told: str = Field(description="The same as it is read.")
    hardly: bool = Field(description="Whether that effect is hardly measurable.")
    place: str = Field(description="Event and phase of that effect.")
    why: str = Field(description="By which path of load it comes, in short.")
    why_in_full: str = Field(description="The same with all its numbers.")
    depends_on: str = Field(description="Which claims hold where; empty unless it depends.")
    claims: list[RuleClaim] = Field(description="The first is what the rule is used for.")


class RulesAnswer(BaseModel):
    """All rules on one car."""

    car: int = Field(description="Its id in the notebook.")
    setup: dict[str, float] = Field(description="Where its adjusters stood.")
    rules: list[RuleAnswer]
    meaning: str = Field(default=MEANING, description="How a verdict is reached.")
    computed_on: str = Field(default="rig", description="Rig or drive; toe-out at the front is driven.")


def start_rules(jobs: Jobs, car_id: int, car: Car, setup: Setup) -> Job:
    """Begin to check the rules on a car as it stands; the result is a `RulesAnswer`.

    Raises
    ------
    CarError
        If the set-up does not fit the car.
    """
    standing = apply_setup(car, setup)

    def work(job: Job) -> RulesAnswer:
        checked = check_rules(car, setup, progress=job.progress, cancelled=job.cancelled)
        positions = {one.name: setup.position(one) for one in car.adjusters}
        return RulesAnswer(car=car_id, setup=positions, rules=[rule_answer(one) for one in checked])

    return jobs.start(KIND, f"{len(RULES)} rules on {car.name}", rules_key(car_id, standing), work)


def rules_key(car_id: int, standing: Car) -> str:
    """Return what decides the answer: the car as it stands."""
    return f"{car_id}:{digest(standing)}"


def rule_answer(one: CheckedRule) -> RuleAnswer:
    """Return one checked rule, in numbers and in words."""
    rule = one.rule
    lead = one.claims[0] if one.claims else None
    return RuleAnswer(
        name=rule.name,
        subject=rule.subject,
        saying=rule.saying,
        source=SOURCE,
        verdict=one.verdict,
        lacks=one.lacks,
        change=rule.change.name,
        back=rule.back.name,
        before=rule.before.name if rule.before else "the car as it stands",
        size=_finite(lead.largest.value) if lead else None,
        size_unit=_unit(lead) if lead else "",
        size_told=size(lead, lead.largest) if lead else "",
        hardly=lead is not None and lead.largest.weight <= 1.0,
        place=place(lead.largest) if lead else "",
        why=why_in_short(one),
        why_in_full=one.why.sentence,
        depends_on=on_what(one) if one.verdict == "depends" else "",
        claims=[_claim(claim) for claim in one.claims],
    )


def _claim(checked: CheckedClaim) -> RuleClaim:
    claim = checked.claim
    widths = claim.way == "smoother is wider"
    return RuleClaim(
        says=claim.says,
        about=claim.about,
        quantity=_quantity(checked),
        meaning=_meaning(_quantity(checked)),
        axle=claim.axle,
        unit=_unit(checked),
        verdict=checked.verdict,
        cells=[
            RuleCell(
                event=cell.event,
                window=cell.window,
                back=cell.back,
                before=_finite(cell.before),
                value=_finite(cell.value),
                hardly_measurable=cell.hardly,
                outcome=cell.outcome,
            )
            for cell in checked.cells
        ],
        told=[list(row) for row in (width_rows if widths else cell_rows)(checked)],
    )


def _quantity(checked: CheckedClaim) -> str:
    return "ratio_width" if checked.claim.way == "smoother is wider" else checked.claim.quantity


def _meaning(quantity: str) -> str:
    return TERMS[quantity][1] if quantity in TERMS else QUANTITIES[quantity].meaning


def _unit(checked: CheckedClaim) -> str:
    return QUANTITIES[_quantity(checked)].unit


def _finite(value: float) -> float | None:
    return value if abs(value) < float("inf") else None
