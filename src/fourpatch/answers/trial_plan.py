"""How to try a change on track."""

from typing import Annotated, ClassVar

from fourpatch.advice.trial_plan import SessionPlan, Watched, session_plan
from fourpatch.analysis.quantity import TIME, Findings
from fourpatch.answers.answer import Answer
from fourpatch.answers.origins import origin_blocks
from fourpatch.answers.question import About, Asked, Found, Question
from fourpatch.document.content import settings_content
from fourpatch.picture.blocks import Block, Heading, Sentence, means
from fourpatch.picture.trial_plan_words import plan_sections
from fourpatch.units import Unit

SCATTER = Unit("s", "s", 0.001, 60.0)
"""Of a lap time."""


class PlanFound(Findings):
    """What to do next on track."""

    occasion: str
    """What the times are computed in."""
    changes: dict[str, dict[str, float]]
    """By adjuster: `from` and `to`, on the driver's own scale."""
    timed: str
    """What the times are of."""
    steady_effect: Annotated[float | None, TIME]
    """Change of the quasi-steady lap time; `null` without a track."""
    rig_effect: Annotated[float, TIME]
    """Change by grip in corners and on bumps, by the rig."""
    effect: Annotated[float, TIME]
    """What the plan counts on."""
    scatter: Annotated[float, TIME]
    """Standard deviation from lap to lap."""
    laps: int | None
    """With each set-up; `null` if no number would do."""
    order: dict[str, int]
    """Laps `before`, `changed`, `back`."""
    times_for_few_laps: int | None
    """How many times the change would show within 15 laps, if it does not."""
    watch: tuple[Watched, ...]
    """What to watch, largest first."""
    rear_first: tuple[str, ...]
    """Corners in which the change leaves the rear using more of its grip than the front on the brakes."""


class TrialPlan(Question):
    """Plan how to try a change of CAR on track: laps before and after, what to watch, when to stop."""

    command: ClassVar[str] = "advise test-plan"
    question: ClassVar[str] = "How is the change to be tried on track?"
    finds: ClassVar[dict[str, Found]] = {"plan": PlanFound}
    of: ClassVar[About] = "car, on a track or not"
    of_a_change: ClassVar[bool] = True
    takes_long: ClassVar[bool] = True
    page: ClassVar[str] = "/cure"

    scatter: Annotated[float, SCATTER] = 0.3
    """Standard deviation of your lap time, or without a track of three corners together."""

    def answer(self, asked: Asked) -> Answer:
        """Compute it."""
        about = asked.car
        found = session_plan(
            about.car,
            about.setup,
            asked.changed.setup,
            scatter=self.scatter,
            track=asked.track,
            progress=asked.progress,
            cancelled=asked.cancelled,
        )
        return Answer(
            title=f"{about.named}: how to try it",
            about={**about.content(), "mode": found.computed_by, **settings_content(self)},
            found={"plan": plan_found(found)},
            blocks=[*plan_blocks(found), *origin_blocks(about.car)],
            source=found,
        )


def plan_found(found: SessionPlan) -> PlanFound:
    """Return a plan in numbers."""
    return PlanFound(
        occasion=found.occasion.name,
        changes={one.name: {"from": before, "to": after} for one, before, after in found.changes},
        timed=found.timed,
        steady_effect=found.steady_effect,
        rig_effect=found.rig_effect,
        effect=found.effect,
        scatter=found.scatter,
        laps=found.laps,
        order={"before": found.before, "changed": found.laps or 0, "back": found.back},
        times_for_few_laps=found.steps_for_many,
        watch=found.watched,
        rear_first=found.rear_first,
    )


def plan_blocks(found: SessionPlan) -> list[Block]:
    """Return what to expect, and what to do, in order."""
    sections = dict(plan_sections(found))
    blocks: list[Block] = [means(" ".join(sections.pop("Expect")))]
    for heading, lines in sections.items():
        blocks += [Heading(heading), *map(Sentence, lines)]
    return blocks
