"""What drivers said of a car, what was tried against it, and what came of it; the last can be written in."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple, get_args

from nicegui import ui

from fourpatch.app.answers.said import KeptAnswer, kept_answer
from fourpatch.app.parts.button import button
from fourpatch.app.words import moment_text
from fourpatch.car.car import Car
from fourpatch.car.scale_words import standing_at
from fourpatch.errors import FourpatchError
from fourpatch.notebook.entries import Complaint, Outcome, Trial
from fourpatch.notebook.notebook import Notebook
from fourpatch.picture.shown import pretty

OUTCOMES: Mapping[Outcome, str] = {
    "open": "not known yet",
    "worked": "it worked",
    "no change": "no change",
    "worse": "it got worse",
}
"""What came of a trial, in words."""

MOST_NOTE = 2000
"""Letters of a note."""

_VALUE = "(event) => emit(event.target.value)"


class SaidList:
    """Complaints, each with its trials."""

    def __init__(
        self,
        notebook: Notebook,
        *,
        by: str,
        on_change: Callable[[], object],
        on_again: Callable[[str], object] | None = None,
    ) -> None:
        """Draw nothing yet.

        Parameters
        ----------
        by : the window that changes are written down for.
        on_change : called after a complaint was put away.
        on_again : given the words of a complaint that is to be asked again; no button without.
        """
        self._notebook, self._by = notebook, by
        self._on_change, self._on_again = on_change, on_again
        self._drawn: dict[int, _Drawn] = {}

    def keep_only(self, listed: Sequence[Complaint]) -> None:
        """Take away what is no longer listed."""
        for gone in self._drawn.keys() - {one.id for one in listed}:
            self._drawn.pop(gone).group.delete()

    def draw(self, complaint: Complaint, *, of: str, car: Car | None) -> ui.element:
        """Draw one complaint; of one that is drawn already what is new: what is being typed there stays.

        Parameters
        ----------
        of : what it was said of, beside its time.
        car : for the units of its adjusters; None if it cannot be read.
        """
        units = {one.name: pretty(one.unit) for one in car.adjusters} if car else {}
        if complaint.id not in self._drawn:
            self._drawn[complaint.id] = self._draw_new(complaint, of)
        drawn = self._drawn[complaint.id]
        drawn.answer.set_text(answer_text(kept_answer(complaint)))
        drawn.untried.set_visibility(not complaint.trials)
        with drawn.group:
            for trial in complaint.trials:
                if trial.id not in drawn.trials:
                    drawn.trials.add(trial.id)
                    self._draw_trial(trial, units)
        return drawn.group

    def _draw_new(self, complaint: Complaint, of: str) -> "_Drawn":
        with ui.element("div").classes("fp-revision fp-stack fp-close").props('role="group"') as group:
            group._props["aria-label"] = f"Said: {complaint.text}"
            with ui.element("div").classes("fp-row"):
                ui.label(f"“{complaint.text}”").classes("fp-strong")
                ui.label(f"{of}, {moment_text(complaint.made)}").classes("fp-small fp-soft")
                if self._on_again is not None:
                    again = self._on_again
                    button("Ask again", lambda: again(complaint.text), tell="Write it above")
                button("Delete", lambda: self._put_away(complaint), tell="Put away; it can be restored")
            if complaint.note:
                ui.label(complaint.note).classes("fp-small")
            answer = ui.label().classes("fp-small fp-soft")
            untried = ui.label("Nothing was tried yet.").classes("fp-small fp-soft")
        return _Drawn(group, answer, untried, set())

    def _put_away(self, complaint: Complaint) -> None:
        self._notebook.complaints.delete(complaint.id, by=self._by)
        self._on_change()

    def _draw_trial(self, trial: Trial, units: Mapping[str, str]) -> None:
        changes = changes_text(trial.changes, units)
        with ui.element("div").classes("fp-trial"):
            ui.label(changes).props(f'title="Tried {moment_text(trial.changed)}"' if not trial.note else "")
            choice = ui.element("select").classes("fp-select")
            choice._props["aria-label"] = f"What came of {changes}"
            with choice:
                for one in get_args(Outcome):
                    option = ui.element("option")
                    option._props |= {"value": one} | ({"selected": True} if one == trial.outcome else {})
                    with option:
                        ui.html(OUTCOMES[one], tag="span", sanitize=True)
            note = ui.element("input").classes("fp-field").props('placeholder="note"')
            note._props |= {
                "aria-label": f"Note on {changes}",
                "maxlength": MOST_NOTE,
                "value": trial.note,
            }
        fault = ui.label().classes("fp-warnbox").props('role="alert"')
        fault.set_visibility(False)
        revision = trial.revision

        def change(*, outcome: Outcome | None = None, note: str | None = None) -> None:
            nonlocal revision
            try:
                kept = self._notebook.complaints.change_trial(
                    trial.id, revision=revision, outcome=outcome, note=note, by=self._by
                )
            except FourpatchError as error:
                fault.set_text(f"{error} Reload the page to see it.")
                fault.set_visibility(True)
            else:
                revision = kept.revision

        def chose(event: Any) -> None:
            if event.args in OUTCOMES:
                change(outcome=event.args)

        choice.on("change", chose, js_handler=_VALUE)
        note.on("change", lambda event: change(note=str(event.args)[:MOST_NOTE]), js_handler=_VALUE)


class _Drawn(NamedTuple):
    """What is drawn of a complaint, and which of its trials."""

    group: ui.element
    answer: ui.label
    untried: ui.label
    trials: set[int]


def changes_text(changes: Mapping[str, float], units: Mapping[str, str]) -> str:
    """Return where adjusters were put: "front bar to position 3, rear spring to 90 N/mm"."""
    told = (f"{name} to {standing_at(value, units.get(name, ''))}" for name, value in changes.items())
    return ", ".join(told) or "no change"


def answer_text(answer: KeptAnswer | None) -> str:
    """Return what was answered, short: what the model said, and the first set that was advised."""
    if answer is None:
        return "Not answered yet."
    where = f"On {answer.track}: " if answer.track else ""
    said = " ".join(answer.measured)
    stopped = "" if answer.complete else " Stopped before its end."
    if not answer.sets:
        return f"{where}{said} No set of changes was found.{stopped}"
    first = answer.sets[0]
    outcome = (
        f"costs too much ({', '.join(first.broken)})"
        if first.broken
        else "cures it"
        if first.cured
        else "helps"
    )
    return f"{where}{said} Advised first: {first.title}, which by the model {outcome}.{stopped}"
