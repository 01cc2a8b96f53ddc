"""Rules of thumb: which of the trade's sayings hold for the car as it stands."""

from collections import Counter
from collections.abc import Sequence

from fastapi import Request
from nicegui import Client, ui

from fourpatch.advice.rules.verdict import CheckedRule, Verdict
from fourpatch.answers.rules import Rules
from fourpatch.app.asking import Answered, ask, on_desk, question_key
from fourpatch.app.frame import CAUTION, frame
from fourpatch.app.jobs import Job
from fourpatch.app.parts.bars import Bar, Kind, bars
from fourpatch.app.parts.button import button
from fourpatch.app.parts.first_read import draw_first
from fourpatch.app.parts.job_bar import JobBar
from fourpatch.app.parts.rule_list import RuleList
from fourpatch.app.parts.setup_panel import SetupPanel
from fourpatch.app.parts.term import term_html
from fourpatch.app.shop import Shop
from fourpatch.app.state import Desk
from fourpatch.app.words import capital
from fourpatch.picture.rules_first import first_of_rules
from fourpatch.picture.rules_words import MEANING

_LEAD = (
    "Each saying is tried on this car: the change it speaks of is made to B, as said and the other way, and "
    f"what it promises is measured in {term_html('corners', 'standard corners')}, on "
    f"{term_html('roads', 'road class')} or over {term_html('kerbs', 'kerb')}. Open a row for its numbers."
)
_EMPTY = "Not checked on this car yet. Press Check the rules on B, above."


def draw(shop: Shop, client: Client, request: Request) -> None:
    """Draw the page."""
    desk = shop.desk(request.query_params)
    with frame("/rules", title="Rules of thumb", shop=shop, desk=desk):
        RulesPage(shop, desk)


class RulesPage:
    """The page's parts and what moves them."""

    def __init__(self, shop: Shop, desk: Desk) -> None:
        self._shop, self._desk = shop, desk
        self._answered = ""
        with ui.element("div").classes("fp-bench"):
            SetupPanel(shop, desk)
            with (
                ui.element("section")
                .classes("fp-card fp-stack fp-answer-first")
                .props('aria-label="Rules of thumb"')
            ):
                ui.html(_LEAD, tag="p", sanitize=False)
                with ui.element("div").classes("fp-row"):
                    self._check = button(
                        "Check the rules on B", self._ask, tell="About ten seconds of computing", main=True
                    )
                    self._bar = JobBar(on_end=self._ended)
                self._said = ui.label().classes("fp-warnbox").props('role="status"')
                self._place = ui.element("div").classes("fp-stack")
                ui.label(CAUTION).classes("fp-small fp-soft")
        self._said.set_visibility(False)
        desk.changed.append(self._say_changed)
        self._begin()

    def _begin(self) -> None:
        """Show what was computed last for this car; nothing is begun that nobody asked for."""
        ours = f"{self._desk.car_id}:"
        job = self._shop.jobs.of(Rules.command, self._key()) or self._shop.jobs.latest(Rules.command, ours)
        if job is None:
            with self._place:
                ui.label(_EMPTY).classes("fp-soft")
        elif job.over:
            self._ended(job)
        else:
            self._follow(job)

    def _key(self) -> str:
        return question_key(Rules(), on_desk(self._shop, self._desk))

    def _ask(self) -> None:
        self._follow(ask(self._shop.jobs, Rules(), on_desk(self._shop, self._desk)))

    def _follow(self, job: Job) -> None:
        self._check.set_enabled(False)
        self._bar.follow(job)

    def _ended(self, job: Job) -> None:
        self._check.set_enabled(True)
        shown = self._answered == job.key  # drawn anew, what somebody has opened would close
        if not shown and isinstance(job.result, Answered) and job.result.question == Rules():
            self._answered = job.key
            self._place.clear()
            with self._place:
                checked = job.result.answer.source
                draw_first(first_of_rules(checked))
                _draw_picture(checked)
                RuleList(checked)
                ui.html(
                    f"<details><summary>How a verdict is reached</summary><p>{MEANING} A rule is "
                    "common practice, no published source, in our own words; what holds here need not hold "
                    "on another car.</p></details>",
                    sanitize=False,
                )
        self._say_changed()
        if job.state == "failed":
            self._say(job.error)
        elif job.state == "cancelled" and not self._answered:
            self._say("Stopped before there was a verdict. Check the rules to begin again.")

    def _say_changed(self) -> None:
        stale = bool(self._answered) and self._answered != self._key()
        self._say("B has changed since: these verdicts are of B as it stood then." if stale else "")

    def _say(self, text: str) -> None:
        self._said.set_text(text)
        self._said.set_visibility(bool(text))


_KINDS: dict[Verdict, Kind] = {
    "agrees": "agrees",
    "depends": "depends",
    "disagrees": "disagrees",
    "hardly matters": "hardly",
    "does not apply": "none",
}


def _draw_picture(rules: Sequence[CheckedRule]) -> None:
    """Draw how the verdicts fall, system by system."""
    rows = []
    for subject in dict.fromkeys(one.rule.subject for one in rules):
        counts = Counter(one.verdict for one in rules if one.rule.subject == subject)
        told = ", ".join(f"{counts[verdict]} {verdict}" for verdict in _KINDS if counts[verdict])
        pieces = [(float(counts[verdict]), kind) for verdict, kind in _KINDS.items()]
        rows.append(Bar(name=capital(subject), pieces=pieces, told=str(counts.total()), tells=told))
    there = {one.verdict for one in rules}
    bars(
        rows,
        caption="How many rules hold, system by system",
        key=[(kind, verdict) for verdict, kind in _KINDS.items() if verdict in there],
    )
