"""What is filled in on the logbook's page, as a meeting."""

from collections.abc import Mapping

from pydantic import ValidationError

from fourpatch.car.setup import Setup
from fourpatch.document.fields import unit_of
from fourpatch.errors import FieldsError
from fourpatch.recording.meeting import Meeting, RunNotes, SessionNotes
from fourpatch.units import FROM_FILE


def with_run(meeting: Meeting, told: Mapping[str, str], setup: Setup | None) -> Meeting:
    """Return a meeting with one more run.

    Parameters
    ----------
    told : what was filled in, by field: of a run, `session` for the session's name (the last one if it is
        empty), the conditions of a new session, and corner, phase and text of a remark.
    setup : how the car stood, if that is to be noted.

    Raises
    ------
    FieldsError
        If something that was filled in cannot be meant.
    """
    said = {key: value.strip() for key, value in told.items() if value.strip()}
    remark = {key: said[key] for key in ("corner", "phase", "text") if key in said}
    run: dict[str, object] = {key: said[key] for key in RunNotes.model_fields if key in said}
    if setup is not None:
        run = {"setup": setup.name, **run, "values": dict(setup.values)}
    if "text" in remark:
        run["remarks"] = [remark]
    sessions = [one.model_dump(context=FROM_FILE) for one in meeting.sessions]
    named = (
        next((one for one in sessions if one["name"] == said["session"]), None) if "session" in said else None
    )
    if named is None and ("session" in said or not sessions):
        conditions = {key: said[key] for key in SessionNotes.model_fields if key in said and key != "note"}
        sessions.append({**conditions, "name": said.get("session", ""), "runs": []})
        named = sessions[-1]
    (named or sessions[-1])["runs"].append(_numbers(run))
    return _read({**meeting.model_dump(context=FROM_FILE), "sessions": sessions})


def _numbers(run: dict[str, object]) -> dict[str, object]:
    laps = run.get("tyre_laps")
    return {**run, "tyre_laps": int(laps)} if isinstance(laps, str) and laps.isdigit() else run


def with_words(meeting: Meeting, **said: str) -> Meeting:
    """Return a meeting with texts of its own changed.

    Raises
    ------
    FieldsError
        If one cannot be meant.
    """
    return _read({**meeting.model_dump(context=FROM_FILE), **said})


def new_meeting(told: Mapping[str, str]) -> Meeting:
    """Return a meeting without sessions.

    Raises
    ------
    FieldsError
        If it has no name, or something cannot be meant.
    """
    return _read({key: value.strip() for key, value in told.items() if value.strip()})


def _read(told: Mapping[str, object]) -> Meeting:
    try:
        return Meeting.model_validate(told, context=FROM_FILE)
    except ValidationError as error:
        faults: dict[str, str] = {}
        for one in error.errors():
            name = str(one["loc"][-1]).replace("_", " ") if one["loc"] else ""
            said = str(one["msg"]).removeprefix("Value error, ")
            faults.setdefault(
                name, "must be given" if one["type"] in ("missing", "string_too_short") else said
            )
        raise FieldsError(faults) from None


def example_of(name: str, model: type[RunNotes] | type[SessionNotes]) -> str:
    """Return how a quantity may be written, as a hint in its field; empty for words."""
    unit = unit_of(model.model_fields[name])
    return "" if unit is None else _EXAMPLES.get(unit.shown, unit.example())


_EXAMPLES = {"degC": "18 degC", "kg": "40 kg", "km/h": "12 km/h"}
