"""How to try a change on track."""

from pydantic import BaseModel, Field

from fourpatch.advice.trial_plan import SessionPlan, session_plan
from fourpatch.app.answers.asked import SetupsAsked
from fourpatch.app.jobs import Job, Jobs
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup
from fourpatch.document.digest import digest
from fourpatch.picture.trial_plan_words import plan_sections
from fourpatch.track.track import Track

USUAL_SCATTER = 0.3
"""Standard deviation of a lap time, until the driver says another. A choice of this project. [s]"""

MOST_SCATTER = 60.0
"""Largest that is taken. [s]"""


class PlanAsked(SetupsAsked):
    """What a car stands at now (A), what it is to be changed to (B), and how alike the driver's laps are."""

    scatter: float = Field(
        default=USUAL_SCATTER,
        gt=0.0,
        le=MOST_SCATTER,
        description="Standard deviation of the lap time [s]; without a track of three corners together.",
    )
    track: int | None = Field(
        default=None, ge=1, le=2**31 - 1, description="Id of the track; null for the standard corners."
    )


class PlanSection(BaseModel):
    """A part of the plan."""

    title: str
    sentences: list[str]


class PlanAnswer(BaseModel):
    """What to do next on track."""

    changes: dict[str, tuple[float, float]] = Field(
        description="By adjuster: from and to, on the driver's own scale."
    )
    effect: float = Field(description="Change of the time that is timed [s]")
    computed_by: str = Field(description="quasi-steady or rig")
    timed: str
    scatter: float = Field(description="[s]")
    laps: int | None = Field(description="With each set-up; null if no number of laps would do.")
    before: int
    back: int
    sections: list[PlanSection] = Field(description="The whole plan in sentences.")


def plan_answer(found: SessionPlan) -> PlanAnswer:
    """Return a plan for the page and the API."""
    return PlanAnswer(
        changes={one.name: (before, after) for one, before, after in found.changes},
        effect=found.effect,
        computed_by=found.computed_by,
        timed=found.timed,
        scatter=found.scatter,
        laps=found.laps,
        before=found.before,
        back=found.back,
        sections=[PlanSection(title=title, sentences=sentences) for title, sentences in plan_sections(found)],
    )


def start_plan(
    jobs: Jobs, car: Car, setup: Setup, changed: Setup, scatter: float, track: Track | None = None
) -> Job:
    """Start to plan, or return the job that does so or has done.

    Parameters
    ----------
    scatter : standard deviation of a lap time. [s]
    track : that is driven; the standard corners if left out.
    """

    def work(job: Job) -> PlanAnswer:
        return plan_answer(
            session_plan(
                car,
                setup,
                changed,
                scatter=scatter,
                track=track,
                progress=job.progress,
                cancelled=job.cancelled,
            )
        )

    key = digest(car, setup.values, changed.values, scatter, track)
    return jobs.start("test plan", "a plan for the next session", key, work)
