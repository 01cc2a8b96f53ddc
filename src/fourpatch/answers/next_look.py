"""What to measure, say or try next."""

from typing import Annotated, ClassVar

from fourpatch.analysis.quantity import RATIO, SHARE, Findings, Measure
from fourpatch.answers.answer import Answer
from fourpatch.answers.question import Asked, Found, Question
from fourpatch.car.car import Car
from fourpatch.car.evidence import Words
from fourpatch.document.content import settings_content
from fourpatch.errors import AdviceError
from fourpatch.evidence.believed import believed
from fourpatch.evidence.kept import demo_tracks, tracks_named
from fourpatch.evidence.next_look import next_looks
from fourpatch.long_work import stretch
from fourpatch.picture.blocks import means
from fourpatch.picture.next_look_words import look_text, next_look_blocks

POINTS = Measure("points", "points")
_USUAL = "pushes at mid-corner in medium corners"


class LookFound(Findings):
    """Something that could be observed next."""

    what: str
    """What to do."""
    settles: Annotated[float, SHARE]
    """Share of the variance of the balance that it is expected to take away."""


class NextFound(Findings):
    """A balance as plausible cars have it, and what would settle it."""

    balance: Annotated[float, POINTS]
    """Middle of the plausible cars, toward what the words name."""
    spread: Annotated[float, POINTS]
    """One standard deviation of them."""
    tried: Annotated[float, RATIO]
    """Looks that were compared; 0 where the file says of no number how far it may be off."""
    looks: tuple[LookFound, ...]
    """Those worth it, best first."""


class NextLook(Question):
    """Say what to measure, say or try next on CAR to settle most of what is open about a balance."""

    command: ClassVar[str] = "advise next-look"
    question: ClassVar[str] = "What should I measure or try next?"
    finds: ClassVar[dict[str, Found]] = {"next": NextFound}
    takes_long: ClassVar[bool] = True

    about: str | None = None
    """What you want to know, "loose on exit in fast corners"; the last words kept, if you say nothing."""

    def answer(self, asked: Asked) -> Answer:
        """Compute it."""
        car = asked.car.car
        about = self.about or _last_words(car)
        title, facts = f"{car.name}: what to observe next", {"mode": "plausible cars"}
        content = {**asked.car.content(), **facts, **settings_content(self)}
        tracks = demo_tracks(tracks_named(car.evidence))
        try:
            found = believed(
                car, tracks=tracks, progress=stretch(asked.progress, 0.0, 0.4), cancelled=asked.cancelled
            )
        except AdviceError as error:
            if car.evidence:
                raise
            nothing = NextFound(balance=0.0, spread=0.0, tried=0.0, looks=())
            return Answer(title=title, about=content, found={"next": nothing}, blocks=[means(str(error))])
        looks = next_looks(
            found,
            about,
            tracks=tracks,
            progress=stretch(asked.progress, 0.4, 1.0),
            cancelled=asked.cancelled,
        )
        return Answer(
            title=title,
            about=content,
            found={
                "next": NextFound(
                    balance=looks.middle,
                    spread=looks.spread,
                    tried=float(looks.tried),
                    looks=tuple(
                        LookFound(what=look_text(one.item), settles=one.settles) for one in looks.looks
                    ),
                )
            },
            blocks=next_look_blocks(looks),
        )


def _last_words(car: Car) -> str:
    said = [item.text for item in car.evidence if isinstance(item, Words) and not item.track]
    return said[-1] if said else _USUAL
