"""The answer to a complaint as a sheet to print or to send, with how to try its first set."""

from typing import Any, Literal

from fourpatch.advice.trial_plan import session_plan
from fourpatch.app.answers.files import TakenFile
from fourpatch.app.jobs import Job, Jobs
from fourpatch.document.digest import digest
from fourpatch.face.cure_blocks import cure_sheet
from fourpatch.face.cured import Cured
from fourpatch.notebook.kinds import file_name
from fourpatch.picture.page import page
from fourpatch.picture.paper import Paper, pdf
from fourpatch.track.track import Track

SheetKind = Paper | Literal["html"]
"""The paper of a PDF, or one HTML file."""


def start_sheet(
    jobs: Jobs, key: str, answer: Cured, kind: SheetKind, *, track: Track | None, scatter: float
) -> Job:
    """Start to make a sheet, or return the job that has made it; its result is a `TakenFile`.

    Parameters
    ----------
    key : of the job that found the answer.
    answer : the whole one, not a first ranking.
    track : that was asked about, if one was.
    scatter : standard deviation of the driver's lap time, for the plan. [s]
    """

    def work(job: Job) -> TakenFile:
        plan = None
        if answer.sets:
            watched: Any = {"progress": job.progress, "cancelled": job.cancelled}
            changed = answer.sets[0].setup
            plan = session_plan(answer.car, answer.setup, changed, scatter=scatter, track=track, **watched)
        title = f"{answer.car.name}, set-up {answer.setup.name}"
        blocks = list(cure_sheet(answer, plan))
        name = file_name(f"{title}, what cures it").removesuffix(".toml")
        if kind == "html":
            return TakenFile(f"{name}.html", page(title, blocks).encode(), "text/html")
        return TakenFile(f"{name}.pdf", pdf(title, blocks, paper=kind), "application/pdf")

    return jobs.start("cure sheet", f"sheet: {answer.reading.typed}", digest(key, scatter, kind), work)
