"""Rules of thumb, checked on a car."""

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import ClassVar

from fourpatch.advice.rules.catalogue import RULES, rule_named
from fourpatch.advice.rules.check import check_rules
from fourpatch.advice.rules.quantities import QUANTITIES
from fourpatch.advice.rules.rule import SOURCE, Rule
from fourpatch.advice.rules.rule_file import load_rules
from fourpatch.advice.rules.verdict import Cell, CheckedClaim, CheckedRule, Why, grouped
from fourpatch.analysis.quantity import Findings
from fourpatch.answers.answer import Answer
from fourpatch.answers.origins import origin_blocks
from fourpatch.answers.question import Asked, Found, Question
from fourpatch.document.content import settings_content
from fourpatch.errors import AdviceError
from fourpatch.picture.blocks import Block, Heading, Picture, Sentence, Table, drawing, means
from fourpatch.picture.head import Head
from fourpatch.picture.rules_words import MEANING, cell_rows, on_what, rule_row, size, width_rows
from fourpatch.picture.shown import words


class ClaimFound(Findings):
    """One thing that a rule says will happen, and whether it does."""

    says: str
    """The rest of a sentence about the change as said."""
    about: str
    """*load*, *lateral share*, *attitude* or *grip*."""
    quantity: str
    """The number, as in [rules-checked.md](rules-checked.md)."""
    axle: str
    """Its axle; empty if it has none."""
    way: str
    """How it is to answer: *rises*, *falls*, *stays*, *costs little*, *smoother is wider*."""
    verdict: str
    """As for the rule."""
    cells: tuple[Cell, ...]
    """Each place, the change as said and the other way."""


class RuleFound(Findings):
    """A rule as one car answers it."""

    name: str
    """What `--rule` takes."""
    subject: str
    """System of the car it speaks of."""
    saying: str
    """The rule, in our own words."""
    source: str
    """*common practice, no published source*."""
    verdict: str
    """*agrees*, *depends*, *disagrees*, *hardly matters*, or *does not apply*."""
    lacks: str
    """What the car lacks for it to apply; empty if nothing."""
    change: str
    """What was changed as said."""
    back: str
    """What was changed the other way."""
    before: str
    """From where both are counted."""
    claims: tuple[ClaimFound, ...]
    """The first is what the rule is used for."""
    why: Why
    """By which path of load its largest effect comes."""


class Rules(Question):
    """Check the trade's rules of thumb on CAR: whether each agrees, by how much, where and why.

    Each rule is a small computation: the change it speaks of is made to the car as it stands, as said and the
    other way, and what it is said to do is measured in slow, medium and fast corners, on roads or over kerbs.
    All the rules are common practice, no published source.
    """

    command: ClassVar[str] = "advise rules"
    question: ClassVar[str] = "Which rules of thumb hold on this car?"
    finds: ClassVar[dict[str, Found]] = {"rules": RuleFound}
    drawn: ClassVar[bool] = True
    takes_long: ClassVar[bool] = True
    page: ClassVar[str] = "/rules"

    files: ClassVar[frozenset[str]] = frozenset({"own"})

    rule: str | None = None
    """One rule by its name, with all its numbers. All rules if left out."""
    own: str | None = None
    """Rules of your own, checked beside ours: fourpatch export rules FILE shows how they are written."""

    def refuse(self, asked: Asked) -> None:
        """Refuse the name of no rule."""
        self._wanted()

    def _wanted(self) -> Sequence[Rule]:
        rules = (*RULES, *(load_rules(self.own) if self.own else ()))
        twice = [one.name for one in rules[len(RULES) :] if one.name in {ours.name for ours in RULES}]
        if twice:
            raise AdviceError(f"{self.own}: {', '.join(twice)} is ours already. Give yours another name.")
        return rules if self.rule is None else (rule_named(self.rule, rules),)

    def answer(self, asked: Asked) -> Answer:
        """Compute it."""
        about = asked.car
        checked = check_rules(
            about.car,
            about.setup,
            rules=self._wanted(),
            progress=asked.progress,
            cancelled=asked.cancelled,
        )
        checked = [one for group in grouped(checked).values() for one in group]
        blocks = rule_blocks(checked[0]) if self.rule else rules_blocks(checked)
        return Answer(
            title=f"Rules of thumb on {about.named}",
            about={**about.content(), "mode": "rig", **settings_content(self)},
            found={"rules": [rule_found(one) for one in checked]},
            blocks=[
                *blocks,
                *origin_blocks(about.car),
                Picture(draw=drawing("rules.rules_figure", checked, named=about.named), says=self.question),
            ],
            source=checked,
        )


def rule_found(one: CheckedRule) -> RuleFound:
    """Return one checked rule in numbers."""
    rule = one.rule
    return RuleFound(
        name=rule.name,
        subject=rule.subject,
        saying=rule.saying,
        source=SOURCE,
        verdict=one.verdict,
        lacks=one.lacks,
        change=rule.change.name,
        back=rule.back.name,
        before=rule.before.name if rule.before else "as it stands",
        claims=tuple(map(_claim_found, one.claims)),
        why=one.why,
    )


def _claim_found(checked: CheckedClaim) -> ClaimFound:
    claim = checked.claim
    return ClaimFound(
        says=claim.says,
        about=claim.about,
        quantity="ratio_width" if claim.way == "smoother is wider" else claim.quantity,
        axle=claim.axle,
        way=claim.way,
        verdict=checked.verdict,
        cells=checked.cells,
    )


_HEADS = (
    Head(text="rule", right=False),
    Head(text="verdict", right=False),
    Head(text="size"),
    Head(text="where", right=False),
    Head(text="why", right=False),
)


def rules_blocks(checked: Sequence[CheckedRule]) -> Iterator[Block]:
    """Yield a row for each rule, by what it promises and how much it moves, and what those depend on."""
    for claimed, those in grouped(checked).items():
        yield Table(heads=_HEADS, rows=[rule_row(one) for one in those], title=claimed)
    counted = Counter(one.verdict for one in checked)
    yield means(f"of {len(checked)} rules: {', '.join(f'{n} {verdict}' for verdict, n in counted.items())}.")
    yield Sentence(MEANING)
    if "depends" in counted:
        yield Heading("What it depends on")
    for one in checked:
        if one.verdict == "depends":
            yield Sentence(on_what(one), lead=one.rule.name)
    yield Sentence(f"All rules: {SOURCE}. One rule with its numbers: fourpatch advise rules CAR --rule NAME.")


def rule_blocks(one: CheckedRule) -> Iterator[Block]:
    """Yield one rule with all its numbers."""
    rule = one.rule
    yield Sentence(f"{rule.name}: “{rule.saying}” ({SOURCE})")
    yield means(f"the rule {one.verdict} on this car.")
    if one.claims:
        before = f", counted from {rule.before.name}" if rule.before else ""
        yield Sentence(f"As said: {rule.change.name}. The other way: {rule.back.name}{before}.")
    for checked in one.claims:
        yield from _claim_blocks(checked)
    yield Sentence(one.why.sentence, lead="Why")


def _claim_blocks(checked: CheckedClaim) -> Iterator[Block]:
    claim, width = checked.claim, checked.claim.way == "smoother is wider"
    heads = [
        Head(text="where", right=False),
        Head(text="as said"),
        *([] if width else [Head(text="the other way")]),
        Head(text="than on the smoother" if width else "outcome", right=False),
    ]
    rows = width_rows(checked) if width else cell_rows(checked)
    yield Table(heads=heads, rows=rows, title=f"{claim.says}: {checked.verdict}")
    if not width:
        first = checked.cells[0]
        limit = size(checked, first.model_copy(update={"value": first.hardly_measurable})).lstrip("+")
        yield Sentence(
            f"About {claim.about}: {words(claim.quantity)} {claim.axle}".rstrip()
            + f" ({QUANTITIES[claim.quantity].meaning}); hardly measurable below {limit}."
        )
