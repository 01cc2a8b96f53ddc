"""A set-up run against the one that was complained of, as long work."""

from dataclasses import replace

from fourpatch.advice.confirmation import confirmation
from fourpatch.answers.confirm import confirm_answer
from fourpatch.app.asking import Answered, question_key
from fourpatch.app.jobs import Job, Jobs
from fourpatch.car.setup import Setup
from fourpatch.document.digest import digest
from fourpatch.face.cured import Cured


def start_confirm(jobs: Jobs, cured: Answered, changed: Setup) -> Job:
    """Start to run a set-up against the one that was complained of, or return the job that does.

    Parameters
    ----------
    cured : the answer to the complaint.
    """
    answer: Cured = cured.answer.source
    about = cured.subject.about
    assert about is not None

    def work(job: Job) -> Answered:
        result = confirmation(
            answer.car, answer.cure, changed, progress=job.progress, cancelled=job.cancelled
        )
        return replace(cured, answer=confirm_answer(about, answer.cure, changed, result))

    key = f"{question_key(cured.question, cured.subject)}:{digest(changed.values)}"
    asked = "; ".join(one.complaint.text() for one in answer.cure.targets)
    return jobs.start("confirm", f"does it cure {asked}?", key, work)
