"""What was observed of a car, and which plausible cars are left."""

from typing import Annotated, Any, ClassVar

from fourpatch.analysis.quantity import RATIO, Findings
from fourpatch.answers.answer import Answer
from fourpatch.answers.question import Asked, Found, Question
from fourpatch.document.content import number
from fourpatch.errors import AdviceError
from fourpatch.evidence.believed import Believed, believed
from fourpatch.evidence.kept import demo_tracks, tracks_named
from fourpatch.picture.blocks import means
from fourpatch.picture.evidence_words import evidence_blocks, item_text


class PlausibleCars(Findings):
    """How many plausible cars were run, and as how many they count after all that was observed."""

    drawn: Annotated[float, RATIO]
    """Cars that were drawn; 0 where the file says of no number how far it may be off."""
    effective: Annotated[float, RATIO]
    """As many cars of equal weight would say as much."""
    wider: Annotated[float, RATIO]
    """Factor on what was said to be unsure: above 1 where no plausible car shows all of it together."""


class WhatWasLearnt(Question):
    """What the evidence in the file of CAR taught: which of the cars it could be show what was observed."""

    command: ClassVar[str] = "analyse evidence"
    question: ClassVar[str] = "What did my observations teach about the car?"
    finds: ClassVar[dict[str, Found]] = {"cars": PlausibleCars}

    def answer(self, asked: Asked) -> Answer:
        """Compute it."""
        car = asked.car.car
        title = f"{car.name}: what was observed, and what it taught"
        try:
            found = believed(
                car,
                tracks=demo_tracks(tracks_named(car.evidence)),
                progress=asked.progress,
                cancelled=asked.cancelled,
            )
        except AdviceError as error:
            if car.evidence:
                raise
            return Answer(
                title=title,
                about={**asked.car.content(), "mode": "plausible cars", "evidence": []},
                found={"cars": PlausibleCars(drawn=0.0, effective=0.0, wider=1.0)},
                blocks=[means(str(error))],
            )
        return Answer(
            title=title,
            about={**asked.car.content(), "mode": "plausible cars", "evidence": evidence_content(found)},
            found={
                "cars": PlausibleCars(
                    drawn=float(len(found.weighed.weights)),
                    effective=found.effective,
                    wider=found.weighed.wider,
                )
            },
            blocks=evidence_blocks(found),
        )


def evidence_content(found: Believed) -> list[dict[str, Any]]:
    """Return each item and what it taught, for JSON."""
    return [
        {
            "observed": item_text(one.item),
            "about": one.meaning,
            "before": {
                "middle": number(one.before[0], one.unit),
                "spread": number(one.before[1], one.unit),
            },
            "after": {"middle": number(one.after[0], one.unit), "spread": number(one.after[1], one.unit)},
            "beyond": one.beyond,
            "narrowed": [{"name": n.name, "left": n.left, "moved": n.moved} for n in one.alone],
        }
        for one in found.taught
    ]
