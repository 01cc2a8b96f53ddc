"""The natural motions of a car."""

from typing import Annotated, ClassVar

from fourpatch.analysis.modes import PURE, CarModes, Mode
from fourpatch.analysis.quantity import RATIO
from fourpatch.answers.answer import Answer
from fourpatch.answers.question import SPEED, Asked, Found, Question, at
from fourpatch.document.content import settings_content
from fourpatch.picture.blocks import Block, Picture, Sentence, Table, drawing, means
from fourpatch.picture.head import Head


class Modes(Question):
    """Natural motions of CAR: frequency, damping and shape, from its linear model."""

    command: ClassVar[str] = "analyse modes"
    question: ClassVar[str] = "How does the car swing, and how fast does it calm down?"
    finds: ClassVar[dict[str, Found]] = {"modes": CarModes}
    drawn: ClassVar[bool] = True

    speed: Annotated[float, SPEED] = 0.0
    """Of the car, which sets downforce."""

    def answer(self, asked: Asked) -> Answer:
        """Compute it."""
        car = asked.car
        found = car.modes(speed=self.speed)
        source = f"{car.named}; {at(self.speed)}, linear model"
        draw = drawing("modes.modes_figure", found, question=self.question, source=source)
        return Answer(
            title=f"{car.named}: natural motions at {self.speed * 3.6:.0f} km/h (linear model)",
            about={**car.content(), "mode": "linear model", **settings_content(self)},
            found={"modes": found},
            blocks=[*modes_blocks(found), Picture(draw=draw, says=self.question)],
        )


def modes_blocks(found: CarModes) -> list[Block]:
    """Return the seven modes, damping at low and at high damper speed side by side."""
    modes = Table(
        heads=[
            Head(text="mode", right=False),
            Head(text="undamped", unit="Hz"),
            Head(text="damped", unit="Hz"),
            Head(text="damping\nratio", unit="1"),
            Head(text="dies\naway at", unit="1/s"),
            Head(text="damping ratio,\nfast dampers", unit="1"),
            Head(text="purity", unit="1"),
        ],
        rows=[_row(slow, fast) for slow, fast in zip(found.low_speed, found.high_speed, strict=True)],
    )
    how = Sentence(
        "A motion dies away as e^(-t x its number). Purity is how much of it is the motion it is named "
        "after: 1 is all of it. Fast dampers: read at 250 mm/s instead of at rest."
    )
    return [modes, how, means(modes_meaning(found))]


def _row(slow: Mode, fast: Mode) -> tuple[str, ...]:
    return (
        slow.name,
        _hertz(slow.undamped_frequency),
        _hertz(slow.damped_frequency),
        RATIO.text(slow.damping_ratio),
        f"{slow.decay_rate:.2f}",
        RATIO.text(fast.damping_ratio),
        f"{slow.participation:.2f}",
    )


def _hertz(frequency: float | None) -> str:
    return "none" if frequency is None else f"{frequency:.2f}"


def modes_meaning(found: CarModes) -> str:
    """Name what is damped least, slow and fast, and what is mixed."""
    said = []
    for modes, when in ((found.low_speed, "in slow damper movement"), (found.high_speed, "in fast movement")):
        known = {mode.name: mode.damping_ratio for mode in modes if mode.damping_ratio is not None}
        if known:
            least = min(known, key=lambda name: known[name])
            said.append(f"{when} {least} is damped least, at {100.0 * known[least]:.0f} % of critical")
    mixed = [mode.name for mode in found.low_speed if mode.participation < PURE]
    if mixed:
        said.append(
            f"mixed with others (purity below {PURE:g}), so that the name is loose: {', '.join(mixed)}"
        )
    growing = [mode.name for mode in found.low_speed if mode.decay_rate < 0.0]
    if growing:
        said.append(f"growing instead of dying away: {', '.join(growing)}")
    return "; ".join(said) + "."
