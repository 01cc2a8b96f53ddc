"""How fast a car can take a bend."""

from typing import Annotated, ClassVar

from fourpatch.analysis.quantity import ACCELERATION, SPEED, Findings
from fourpatch.analysis.steady_limits import corner_speed, top_speed
from fourpatch.answers.answer import Answer
from fourpatch.answers.findings_tables import findings_tables
from fourpatch.answers.question import Asked, Found, Question
from fourpatch.document.content import settings_content
from fourpatch.picture.blocks import means
from fourpatch.units import Unit


class BendLimit(Findings):
    """A bend taken as fast as the worse axle's grip lets it, settled, on a flat smooth road."""

    speed: Annotated[float, SPEED]
    """Highest that can be held; top speed where grip does not end before."""
    lateral_acceleration: Annotated[float, ACCELERATION]
    """At that speed."""
    top_speed: Annotated[float, SPEED]
    """That engine and drag allow straight ahead."""


class BendSpeed(Question):
    """Speed at which CAR, settled in a bend of some radius, has used all grip of its worse axle."""

    command: ClassVar[str] = "analyse bend-speed"
    question: ClassVar[str] = "How fast can the car take this bend?"
    finds: ClassVar[dict[str, Found]] = {"bend": BendLimit}

    radius: Annotated[float, Unit("m", "m", 5.0, 2000.0)] = 60.0
    """Of the path of the car's middle."""

    def answer(self, asked: Asked) -> Answer:
        """Compute it."""
        car, top = asked.car, top_speed(asked.car.standing)
        speed = corner_speed(car.standing, radius=self.radius, fastest=top)
        found = BendLimit(speed=speed, lateral_acceleration=speed**2 / self.radius, top_speed=top)
        return Answer(
            title=f"{car.named}: a bend of {self.radius:g} m (rig, settled)",
            about={**car.content(), "mode": "rig, settled", **settings_content(self)},
            found={"bend": found},
            blocks=[*findings_tables(found), means(bend_meaning(found))],
        )


def bend_meaning(found: BendLimit) -> str:
    """Say what ends the speed: grip, or the engine."""
    if found.speed >= found.top_speed:
        return f"flat out: at {found.speed * 3.6:.0f} km/h, its top speed, it has grip left."
    return f"it takes the bend at up to {found.speed * 3.6:.0f} km/h; faster, one axle has no more grip."
