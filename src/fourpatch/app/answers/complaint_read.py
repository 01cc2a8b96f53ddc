"""What is understood of a complaint as it is typed or chosen."""

from pydantic import BaseModel, Field

from fourpatch.advice.complaint import Behaviour, Complaint, PhaseName, Place, Size, Window
from fourpatch.advice.complaint_text import Reading, nearest_readings, read_complaint, understood
from fourpatch.answers.cure import MOST_TEXT, ComplaintRead, TextRead, complaint_read, text_read
from fourpatch.errors import AdviceError
from fourpatch.picture.cure_words import read_as


class ReadAsked(BaseModel):
    """A complaint as typed."""

    text: str = Field(max_length=MOST_TEXT, description='"pushes on entry in slow corners"')


class ReadAnswer(TextRead):
    """What was understood, or why nothing was."""

    complaints: tuple[ComplaintRead, ...]
    """None where it was not understood."""
    said: str
    """All that in one or two sentences; or why it was not understood."""
    nearest: tuple[str, ...]
    """Readings to choose from where nothing was understood."""


def read_answer(text: str) -> ReadAnswer:
    """Return what is understood of a complaint; never raises."""
    try:
        return _read(read_complaint(text))
    except AdviceError as error:
        reading = understood(text)
        nearest = () if reading.complaints else tuple(nearest_readings(text))  # it contradicts itself
        return _read(reading).model_copy(update={"complaints": (), "said": str(error), "nearest": nearest})


def _read(reading: Reading) -> ReadAnswer:
    read = text_read(reading)
    return ReadAnswer(
        **dict(read),
        complaints=tuple(map(complaint_read, reading.complaints)),
        said=read_as(reading),
        nearest=read.question.choices if read.question else (),
    )


class ComplaintChosen(BaseModel):
    """A complaint put together from its parts; empty is not said."""

    behaviour: Behaviour
    phase: PhaseName = ""
    window: Window = ""
    place: Place = ""
    size: Size = ""

    def text(self) -> str:
        """Return it as it may be typed."""
        return Complaint(**self.model_dump()).text()
