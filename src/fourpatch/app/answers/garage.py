"""The garage screen of a car: its rows, what is pasted into them, and the car that they make."""

import re
from collections.abc import Sequence
from difflib import get_close_matches

from pydantic import BaseModel, Field

from fourpatch.app.answers.carried import carry_setups, kept_setups
from fourpatch.car.adjuster_editing import with_adjusters
from fourpatch.car.car import Car
from fourpatch.car.editing import edited_text
from fourpatch.car.garage import GarageRow, read_number, rows_of, settled
from fourpatch.car.garage_settings import ENDS, KEPT, UNKNOWN, settings_of, units_for
from fourpatch.car.paths import parameter
from fourpatch.car.provenance import GIVEN, origin
from fourpatch.errors import FieldsError
from fourpatch.notebook.entries import Entry
from fourpatch.notebook.kinds import Written
from fourpatch.notebook.notebook import Notebook


class GarageLine(BaseModel):
    """A row with what is needed to show it."""

    row: GarageRow
    group: str = Field(description="The system it belongs to.")
    units: list[str] = Field(description="That may be chosen.")
    more: str = Field(description="What a higher number does.")


class KeptGarage(BaseModel):
    """A car whose scales were changed."""

    entry: Entry
    setups: int = Field(description="Set-ups that were carried over to the new scales.")
    told: list[str] = Field(description="What could not be kept by meaning, a sentence each.")


def garage_lines(notebook: Notebook, car_id: int, revision: int | None = None) -> list[GarageLine]:
    """Return the rows of a car of the notebook.

    Raises
    ------
    NotebookError, FileError
        If there is no such car, or it cannot be read.
    """
    car = notebook.cars.read(car_id, revision)
    return [
        GarageLine(
            row=row,
            group=one.system,
            units=[*([KEPT] if row.unit == KEPT else []), *units_for(one)],
            more=one.more,
        )
        for row, one in zip(rows_of(car), settings_of(car), strict=True)
    ]


def keep_garage(
    notebook: Notebook, car_id: int, rows: Sequence[GarageRow], *, revision: int, by: str
) -> KeptGarage:
    """Keep a new revision of a car with the scales of a garage screen, and its set-ups by their meaning.

    A value that somebody wrote for where a scale stands is given from now on; one that was only moved to the
    nearest place of its scale stays an estimate.

    Raises
    ------
    FieldsError
        If a row cannot be: all faults, by the key of the row and the name of the field.
    NotebookConflict
        If the car was changed or deleted since that revision.
    """
    written = notebook.cars.get(car_id, revision).written
    before = notebook.cars.read(car_id, revision)
    kept = kept_setups(notebook, car_id)
    made = settled(before, rows)
    typed = {row.key for row in rows if row.have and row.now.strip()}
    about = {path for one in settings_of(before) if one.key in typed for path in one.targets}
    given = {
        path: GIVEN
        for path, value in made.changed.items()
        if path in about and not _same(before, path, value) and origin(before, path).source != "given"
    }
    valued = made.car.model_copy(
        update={"adjusters": before.adjusters, "provenance": {**made.car.provenance, **given}}
    )
    text = with_adjusters(edited_text(written.text, before, valued), made.car.adjusters)
    content = Written(text=text, beside=written.beside)
    entry = notebook.cars.change(car_id, content, revision=revision, by=by)
    moved, told = carry_setups(notebook, car_id, kept, before, by=by)
    return KeptGarage(entry=entry, setups=moved, told=told)


def _same(car: Car, path: str, value: float) -> bool:
    return abs(parameter(car, path).value - value) <= 1e-9 * abs(value)


_LINE = re.compile(
    r"^\s*(.+?)\s*[:=\t ]\s*([-+−]?\d[\d.,]*)\s*(?:(?:of|/)\s*(\d[\d.,]*))?\s*([^\d\s]\S*)?\s*$",
    re.IGNORECASE,
)
_SAME_WORDS = (
    ("anti-roll bar", "bar"),
    ("pressures", "pressure"),
    ("brake balance", "brake bias"),
    ("compression", "bump"),
    ("slow ", "low speed "),
    ("fast ", "high speed "),
)


class Pasted(BaseModel):
    """Lines of name and value, put into the rows."""

    rows: list[GarageRow]
    unread: list[str] = Field(description="Lines that fit no row, as they were pasted.")
    moved: list[str] = Field(description="Rows whose scale was moved so that it holds what was pasted.")


def pasted(rows: Sequence[GarageRow], text: str) -> Pasted:
    """Put pasted lines into the rows of a garage screen: ``front bump 7 of 11``, ``brake bias 54 %``.

    A row that gets a value is one that the car has; ``of`` without a unit counts positions, of which nobody
    knows what they are.
    """
    changed = {one.key: one for one in rows}
    spelled = {_spelled(key): key for key in changed}
    unread: list[str] = []
    moved: list[str] = []
    for line in filter(str.strip, text.splitlines()):
        match = _LINE.match(line)
        near = get_close_matches(_spelled(match[1]), spelled, n=1, cutoff=0.8) if match else []
        if not match or not near:
            unread.append(line.strip())
            continue
        key = spelled[near[0]]
        now = f"{match[2]} {match[4] or ''}".strip()
        said: dict[str, bool | str] = {"have": True, "now": now}
        if match[3]:
            said |= {"highest": match[3]} if match[4] else _counted(changed[key], match[2], match[3])
        elif key in _ELSEWHERE and (about := _scale_about(changed[key], now)):
            said |= about
            moved.append(key)
        changed[key] = changed[key].model_copy(update=said)
    return Pasted(rows=list(changed.values()), unread=unread, moved=moved)


_ELSEWHERE = ("brake bias", *(f"{end} {what}" for end in ENDS for what in ("ride height", "wing")))
"""Settings that garages measure in places of their own: where the car has them says nothing of the scale."""


def _scale_about(row: GarageRow, now: str) -> dict[str, str]:
    """Return a scale as long as a row's, moved so that a number outside it stands where the row stood."""
    if row.unit in (KEPT, UNKNOWN):
        return {}
    try:
        low, high, stood, put = (
            read_number(one, row.unit) for one in (row.lowest, row.highest, row.now, now)
        )
    except ValueError:  # to be refused in its row
        return {}
    by = put - stood
    return {} if low <= stood + by <= high else {"lowest": f"{low + by:g}", "highest": f"{high + by:g}"}


def _counted(row: GarageRow, now: str, highest: str) -> dict[str, str]:
    """Return the scale of a setting that stands at one of so many positions, whatever a position is."""
    if row.unit in (KEPT, UNKNOWN) and row.highest == highest:
        return {}
    number = float(now.replace("−", "-").replace(",", "."))
    step = next((size for size in (1.0, 0.5, 0.25) if (number / size).is_integer()), 0.1)
    return {"lowest": f"{min(number, 1.0):g}", "highest": highest, "step": f"{step:g}", "unit": UNKNOWN}


def _spelled(name: str) -> str:
    """Return a name without what people write differently: order, commas, two words for one thing."""
    text = f"{name.lower()} "
    for other, word in _SAME_WORDS:
        text = text.replace(other, word)
    return " ".join(sorted(re.sub(r"[^a-z0-9 ]", " ", text).split()))


def refused(error: FieldsError) -> dict[str, dict[str, str]]:
    """Return what is wrong, by row and field; what is of no row under an empty one."""
    found: dict[str, dict[str, str]] = {}
    for name, text in error.fields.items():
        key, _, field = name.rpartition(".")
        found.setdefault(key, {})[field] = text
    return found
