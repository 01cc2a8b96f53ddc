"""What the notebook keeps of a complaint: what was said of which set-up, what was answered and tried."""

import contextlib
from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel, Field, ValidationError

from fourpatch.app.answers.cure import CureAnswer, SetFound
from fourpatch.app.jobs import Job
from fourpatch.errors import NotebookError
from fourpatch.notebook.entries import Complaint, Trial, Version
from fourpatch.notebook.notebook import Notebook


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


def said_of(notebook: Notebook, answer: CureAnswer) -> Complaint | None:
    """Return the latest complaint that an answer is to, if one is kept."""
    for one in notebook.complaints.listed(answer.car):
        if one.text == answer.read.typed.strip():
            with contextlib.suppress(NotebookError):  # of a set-up that cannot be read
                if _stood(notebook.setups.version(one.version_id), answer.setup):
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
    answer = job.result
    if isinstance(answer, CureAnswer) and not answer.first:
        with contextlib.suppress(NotebookError):  # nobody looks on any more who could be told
            notebook.complaints.answered(complaint_id, summary(answer).model_dump(mode="json"))


def keep_trial(
    notebook: Notebook, complaint_id: int, tried: SetFound, *, version_id: int | None, by: str
) -> Trial:
    """Keep that a set of changes is tried, or return it if it is being tried already.

    Parameters
    ----------
    version_id : the version of the set-up that it became; None if that is not kept.

    Raises
    ------
    NotebookError
        If there is no such complaint, or no such version of its car.
    """
    changes = changes_of(tried)
    for one in notebook.complaints.get(complaint_id).trials:
        if one.outcome == "open" and one.changes == changes:
            return one
    return notebook.complaints.tried(complaint_id, changes, version_id=version_id, by=by)


def changes_of(one: SetFound) -> dict[str, float]:
    """Return where a set puts each adjuster that it moves."""
    return {change.adjuster: change.after for change in one.changes}


def summary(answer: CureAnswer) -> KeptAnswer:
    """Return what is kept of an answer."""
    return KeptAnswer(
        track=answer.track,
        measured=[one.said for one in answer.measured],
        sets=[
            KeptSet(title=one.title, changes=changes_of(one), cured=one.cured, broken=one.broken)
            for one in answer.sets
        ],
        complete=answer.complete,
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
