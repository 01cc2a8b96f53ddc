"""What the notebook keeps of a complaint: what was said of which set-up, what was answered and tried."""

import contextlib
from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel, Field, ValidationError

from fourpatch.answers.cure import moved_to
from fourpatch.app.asking import Answered
from fourpatch.app.jobs import Job
from fourpatch.errors import NotebookError
from fourpatch.face.cure_blocks import measured_blocks
from fourpatch.face.cured import Cured
from fourpatch.notebook.entries import Complaint, Trial, Version
from fourpatch.notebook.notebook import Notebook
from fourpatch.picture.cure_words import changes_text


class KeptSet(BaseModel):
    """A set of changes that was advised."""

    title: str
    changes: dict[str, float] = Field(description="Where each adjuster is put, on the driver's own scale.")
    cured: bool
    broken: list[str] = Field(description="What became worse by more than is tolerated.")


class KeptAnswer(BaseModel):
    """What is kept of an answer: enough to read a year later, without the model it came from."""

    track: str = Field(description="Name of the track; empty for the standard corners, road and kerb.")
    measured: list[str] = Field(description="What the model said of each complaint.")
    sets: list[KeptSet] = Field(description="Best first.")
    complete: bool = Field(description="False where it was stopped.")


def keep_said(notebook: Notebook, version_id: int, text: str, *, by: str) -> Complaint:
    """Keep what was said of a version of a set-up, or return it if it is kept already.

    Raises
    ------
    NotebookError
        If there is no such version.
    """
    car_id = notebook.setups.version(version_id).car_id
    for one in notebook.complaints.listed(car_id):
        if one.version_id == version_id and one.text == text.strip():
            return one
    return notebook.complaints.add(version_id, text.strip(), by=by)


def cured_of(job: Job) -> Answered | None:
    """Return the answer to a complaint that a job came to; None of another, and of a first ranking."""
    answered = job.result
    cured = answered.answer.source if isinstance(answered, Answered) else None
    return answered if isinstance(cured, Cured) and not cured.cure.first else None


def said_of(notebook: Notebook, car_id: int, answer: Cured) -> Complaint | None:
    """Return the latest complaint that an answer is to, if one is kept."""
    for one in notebook.complaints.listed(car_id):
        if one.text == answer.reading.typed.strip():
            with contextlib.suppress(NotebookError):  # of a set-up that cannot be read
                if _stood(notebook.setups.version(one.version_id), answer.setup.values):
                    return one
    return None


def said_with(notebook: Notebook, complaint: Complaint) -> str:
    """Return what the set-up is called that something was said of."""
    try:
        return notebook.setups.version(complaint.version_id).name
    except NotebookError:
        return "a set-up that cannot be read"


def keep_answer(notebook: Notebook, complaint_id: int, job: Job) -> None:
    """Keep the answer that a job came to, if it came to one."""
    answered = cured_of(job)
    if answered is not None:
        with contextlib.suppress(NotebookError):  # nobody looks on any more who could be told
            kept = summary(answered.answer.source)
            notebook.complaints.answered(complaint_id, kept.model_dump(mode="json"))


def keep_trial(
    notebook: Notebook,
    complaint_id: int,
    changes: Mapping[str, float],
    *,
    version_id: int | None,
    by: str,
) -> Trial:
    """Keep that a set of changes is tried, or return it if it is being tried already.

    Parameters
    ----------
    changes : where each adjuster is put, on the driver's own scale.
    version_id : the version of the set-up that it became; None if that is not kept.

    Raises
    ------
    NotebookError
        If there is no such complaint, or no such version of its car.
    """
    for one in notebook.complaints.get(complaint_id).trials:
        if one.outcome == "open" and one.changes == dict(changes):
            return one
    return notebook.complaints.tried(complaint_id, dict(changes), version_id=version_id, by=by)


def summary(answer: Cured) -> KeptAnswer:
    """Return what is kept of an answer."""
    found = answer.cure
    return KeptAnswer(
        track=found.course.name if found.course.lap else "",
        measured=[one.text for one in measured_blocks(found)],
        sets=[
            KeptSet(
                title=changes_text(found, one),
                changes=moved_to(found, one),
                cured=one.cured,
                broken=[guard.label for guard, _ in one.broken],
            )
            for one in answer.sets
        ],
        complete=answer.complete and not answer.stopped,
    )


def kept_answer(complaint: Complaint) -> KeptAnswer | None:
    """Return what was answered, or None: nothing yet, or another program kept it in its own form."""
    answer: Mapping[str, Any] = complaint.answer
    try:
        return KeptAnswer.model_validate(answer)
    except ValidationError:
        return None


def _stood(version: Version, setup: Mapping[str, float]) -> bool:
    """Say whether a version has every adjuster where a set-up has it."""
    return all(setup.get(name, value) == value for name, value in version.values.items())
