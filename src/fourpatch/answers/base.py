"""A base set-up to begin from, every value with its reason."""

from collections.abc import Iterator
from typing import Annotated, ClassVar

from fourpatch.advice.base_borne import DriveWord
from fourpatch.advice.base_setup import BaseSetup, BaseValue, base_setup
from fourpatch.advice.base_targets import StyleName, Targets
from fourpatch.advice.grip_cost import PARTS, PHASES, GripCost
from fourpatch.advice.occasion import Occasion
from fourpatch.analysis.quantity import (
    ACCELERATION,
    ALONG,
    ANGLE_GRADIENT,
    BARE,
    DECAY,
    FREQUENCY,
    POINTS,
    RATIO,
    SPEED,
    TIME,
    Axles,
    Findings,
)
from fourpatch.answers.answer import Answer, found_of
from fourpatch.answers.origins import origin_blocks
from fourpatch.answers.question import About, Asked, Question
from fourpatch.car.scale_words import standing_at
from fourpatch.car.setup import Setup
from fourpatch.document.content import settings_content
from fourpatch.picture.base_first import first_of_base
from fourpatch.picture.base_words import (
    around_text,
    base_meaning,
    because_text,
    drive_text,
    stopped_text,
    targets_text,
)
from fourpatch.picture.blocks import Block, Sentence, Table
from fourpatch.picture.first_answer import FirstAnswer, first_blocks
from fourpatch.picture.head import Head


class CornerMet(Findings):
    """The corner that stands for its speed class."""

    radius: Annotated[float, ALONG]
    """Of the corner that stands for its speed class."""
    speed: Annotated[float, SPEED]
    """In its middle."""
    weight: Annotated[float, RATIO]
    """Share of the time in corners that it stands for."""


class OccasionFound(Findings):
    """What a set-up is for."""

    name: str
    """As shown."""
    corners: dict[str, CornerMet]
    """By speed class."""
    road_class: str
    """Of ISO 8608."""
    road_speed: Annotated[float, SPEED]
    """On the surface."""
    kerb_height: Annotated[float, ALONG]
    """Of the kerb."""
    kerb_share: Annotated[float, RATIO]
    """Share of the time on kerbs."""
    notes: tuple[str, ...]
    """What was taken for what."""


class TargetsFound(Findings):
    """What it aims at."""

    balance: Annotated[float, POINTS]
    """Sought in every phase, positive understeer."""
    tyre_class: str
    """Nearest by peak friction."""
    downforce_class: str
    """Nearest by downforce area."""
    ride_frequency: Annotated[Axles, FREQUENCY]
    """By axle."""
    roll_gradient: Annotated[float, ANGLE_GRADIENT]
    """At most."""
    front_transfer_share: Annotated[float, RATIO]
    """Front part of the lateral load transfer."""
    bump_ratio: Annotated[float, RATIO]
    """Damping ratio in bump at low speed."""
    rebound_ratio: Annotated[float, RATIO]
    """The same in rebound."""


class ValueFound(Findings):
    """Where one adjuster stands, and why."""

    position: Annotated[float, BARE]
    """On the driver's own `scale`, as the next two."""
    of_targets: Annotated[float, BARE]
    """Where the stated targets put it."""
    before: Annotated[float, BARE]
    """Where it stood."""
    scale: str
    """What the driver counts."""
    because: str
    """One sentence with its number."""
    hardly_matters: tuple[float, float] | None
    """Lowest and highest of the computed positions around it that cost less than 0.1 points; `null` where the
    search does not move it, or was stopped."""
    cost_of_target: Annotated[float | None, POINTS]
    """Of standing where the targets put it, all else as found; `null` as above."""
    map_known: bool
    """False where nobody has said what a step does."""


class CostFound(Findings):
    """What a set-up costs, in hundredths of the grip the tyres could have."""

    corners: Annotated[float, POINTS]
    """Use of the axle that has less left, mean over the corners."""
    bumps: Annotated[float, POINTS]
    """Grip lost on the surface."""
    kerbs: Annotated[float, POINTS]
    """Grip lost over the kerb, by its share of the time."""
    floor: Annotated[float, POINTS]
    """For each millimetre that the floor comes below 4 mm."""
    total: Annotated[float, POINTS]
    """Their sum; `null` where a set-up cannot run."""


class CostsFound(Findings):
    """What three set-ups cost in the same motions."""

    given: CostFound
    """The set-up given."""
    targets: CostFound
    """The targets alone."""
    found: CostFound
    """This one."""


class BalanceFound(Findings):
    """Balance of one corner by phase; above 0 the front runs out of grip first."""

    given: Annotated[dict[str, float], POINTS]
    """By phase, with the set-up given."""
    found: Annotated[dict[str, float], POINTS]
    """By phase, with this one."""


class TurnFound(Findings):
    """A steady turn of one of the corners, driven."""

    corner: str
    """Which."""
    radius: Annotated[float, ALONG]
    """Of the steady turn in which the drive was asked."""
    lateral_acceleration: Annotated[float, ACCELERATION]
    """In it."""
    given: Annotated[float, DECAY]
    """How fast a disturbance grows in it with the set-up given; below 0 it dies away."""
    found: Annotated[float | None, DECAY]
    """The same with this one; `null` where it cannot be held."""


class LapsFound(Findings):
    """A lap driven with the set-up given and with this one."""

    course: str
    """What was driven."""
    given: Annotated[float | None, TIME]
    """Lap time with the set-up given; `null` where it cannot be driven."""
    found: Annotated[float | None, TIME]
    """With this one; `null` as above."""
    uncertainty: Annotated[float, TIME]
    """Within which two lap times count as alike."""
    refused: str
    """Why a lap could not be driven; empty if both were."""


class DriveFound(Findings):
    """What the drive says of it."""

    turns: tuple[TurnFound, ...]
    """Steady turns of the corners it is for."""
    not_asked: tuple[str, ...]
    """Corners in which the set-up given finds no steady turn."""
    laps: LapsFound | None
    """Driven on the standard corners or the track; `null` where none was."""
    why_no_laps: str
    """Empty if they were driven."""
    unstable: tuple[str, ...]
    """Corners in which what the search found first would have swung round."""
    slower: bool
    """Whether it was slower on the driven lap, or not driven at all."""
    put_back: tuple[str, ...]
    """Adjusters that went back towards the set-up given for either."""
    given_back: bool
    """Whether this is the set-up that was given."""


class NewSetup(Findings):
    """The set-up, as in a set-up file."""

    name: str
    """What it is called."""
    values: dict[str, float]
    """Position of every adjuster."""


class BaseFound(Findings):
    """A base set-up and everything behind it."""

    first_read: FirstAnswer
    """What a driver reads first."""
    occasion: OccasionFound
    """What it is for."""
    targets: TargetsFound
    """What it aims at."""
    values: dict[str, ValueFound]
    """By adjuster."""
    cost: CostsFound
    """In the same motions."""
    balance: dict[str, BalanceFound]
    """By corner."""
    worse_parts: tuple[str, ...]
    """Of the cost, in which this one is worse than the one given by more than 0.1 points."""
    drive: DriveFound
    """What the drive says of it before it is shown."""
    tried: int
    """Set-ups computed."""
    converged: bool
    """Whether no move gained more."""
    stopped: bool
    """Whether it was stopped before the end."""
    new_setup: NewSetup
    """To write as a file."""


class SoundBase(Question):
    """Compute a base set-up of CAR: stated targets in its own steps, refined by computing.

    Every value has its reason, and the range of steps in which it hardly matters. Stopped by Ctrl-C, it shows
    the best set-up known by then. Before it is shown the drive is asked: what it finds less stable in these
    corners, or slower on a lap, than the set-up given goes back towards that one.
    """

    command: ClassVar[str] = "advise base"
    question: ClassVar[str] = "Where does one begin?"
    finds: ClassVar[type[Findings]] = BaseFound
    of: ClassVar[About] = "car, on a track or not"
    takes_long: ClassVar[bool] = True
    writes: ClassVar[tuple[str, ...]] = ("setup",)
    page: ClassVar[str] = "/base"

    style: StyleName = "neutral"
    """How much understeer the driver wants: 3, 1.5 or 0 points of balance."""

    def setup(self, asked: Asked, answer: Answer) -> Setup:
        """Return the set-up that was found."""
        found: BaseSetup = answer.source
        return found.setup

    def answer(self, asked: Asked) -> Answer:
        """Compute it."""
        about = asked.car
        found = base_setup(
            about.car,
            about.setup,
            track=asked.track,
            style=self.style,
            progress=asked.progress,
            cancelled=asked.cancelled,
        )
        return Answer(
            title=f"Base set-up of {about.car.name} for {found.occasion.name}, style {self.style}",
            about={**about.content(), "mode": "rig", **settings_content(self)},
            found=found_of(base_found(found)),
            blocks=[*base_blocks(found), *origin_blocks(about.car)],
            source=found,
            stopped=found.stopped,
        )


def base_found(found: BaseSetup) -> BaseFound:
    """Return a base set-up in numbers."""
    corners, values = found.occasion.corners, {one.adjuster.name: _value(one) for one in found.values}
    return BaseFound(
        first_read=first_of_base(found),
        occasion=_occasion(found.occasion),
        targets=_targets(found.targets),
        values=values,
        cost=CostsFound(given=_cost(found.given), targets=_cost(found.start), found=_cost(found.found)),
        balance={
            name: BalanceFound(given=_phases(found.given, k), found=_phases(found.found, k))
            for k, name in enumerate(corners)
        },
        worse_parts=tuple(found.worse_parts),
        drive=_drive(found.drive),
        tried=found.tried,
        converged=found.converged,
        stopped=found.stopped,
        new_setup=NewSetup(name=found.setup.name, values={k: one.position for k, one in values.items()}),
    )


def _occasion(occasion: Occasion) -> OccasionFound:
    return OccasionFound(
        name=occasion.name,
        corners={
            name: CornerMet(radius=corner.radius, speed=corner.speed, weight=occasion.weights[name])
            for name, corner in occasion.corners.items()
        },
        road_class=occasion.road.road_class,
        road_speed=occasion.road.speed,
        kerb_height=occasion.kerb.height,
        kerb_share=occasion.kerb_share,
        notes=occasion.notes,
    )


def _targets(targets: Targets) -> TargetsFound:
    names = TargetsFound.model_fields
    same = {name: getattr(targets, name) for name in names if name != "balance"}
    return TargetsFound(balance=targets.style.balance, **same)


def _value(one: BaseValue) -> ValueFound:
    return ValueFound(
        position=one.position,
        of_targets=one.target,
        before=one.before,
        scale=one.adjuster.unit,
        because=one.because,
        hardly_matters=None if one.low is None or one.high is None else (one.low, one.high),
        cost_of_target=one.cost_of_target,
        map_known=not one.unknown,
    )


def _cost(cost: GripCost) -> CostFound:
    parts = {name: float(value) for name, value in zip(PARTS, cost.parts[0], strict=True)}
    return CostFound(**parts, total=float(cost.total[0]))


def _phases(cost: GripCost, corner: int) -> dict[str, float]:
    return {phase: float(value) for phase, value in zip(PHASES, cost.balance[0, corner], strict=True)}


def _drive(word: DriveWord) -> DriveFound:
    same = {name: getattr(word, name) for name in DriveFound.model_fields if name not in ("turns", "laps")}
    turns = (TurnFound(**{name: getattr(one, name) for name in TurnFound.model_fields}) for one in word.turns)
    laps = word.laps and LapsFound(**{name: getattr(word.laps, name) for name in LapsFound.model_fields})
    return DriveFound(turns=tuple(turns), laps=laps, **same)


def base_blocks(found: BaseSetup) -> Iterator[Block]:
    """Yield what is read first, the set-up with its reasons, what it costs, and what the drive says."""
    yield from first_blocks(first_of_base(found))
    yield from base_notes(found)
    yield Table(
        heads=[
            Head(text="adjuster", right=False),
            Head(text="set to"),
            Head(text="was"),
            Head(text="hardly\nmatters"),
            Head(text="because", right=False),
        ],
        rows=[_row(one) for one in found.values],
        title="Set-up",
    )
    yield from base_in_numbers(found)


def base_notes(found: BaseSetup) -> Iterator[Sentence]:
    """Yield what has to be known before it is read: that it was stopped, and what was taken for what."""
    if found.stopped:
        yield Sentence(stopped_text(found))
    yield from map(Sentence, found.occasion.notes)


def base_in_numbers(found: BaseSetup) -> Iterator[Block]:
    """Yield what it gains, what the drive says and what it aims at, in sentences and tables."""
    yield Sentence(base_meaning(found), lead="In numbers")
    yield Sentence(drive_text(found), lead="What the drive says")
    yield Sentence(targets_text(found))
    yield _cost_table(found)
    yield _balance_table(found)
    if found.drive.turns:
        yield _turns_table(found)


def _row(one: BaseValue) -> tuple[str, ...]:
    return (
        one.adjuster.name,
        standing_at(one.position, one.adjuster.unit),
        f"{one.before:g}",
        around_text(one),
        because_text(one),
    )


def _cost_table(found: BaseSetup) -> Table:
    costs = {"as given": found.given, "targets alone": found.start, "this set-up": found.found}
    return Table(
        heads=[
            Head(text="set-up", right=False),
            *(Head(text=part, unit="points") for part in (*PARTS, "total")),
        ],
        rows=[
            (name, *(f"{value:.2f}" for value in (*cost.parts[0], cost.total[0])))
            for name, cost in costs.items()
        ],
        title="Cost in hundredths of the grip the tyres could have; less is better",
    )


def _balance_table(found: BaseSetup) -> Table:
    return Table(
        heads=[Head(text="corner", right=False), *(Head(text=phase, unit="points") for phase in PHASES)],
        rows=[
            (f"{name}, {label}", *(f"{value:+.1f}" for value in cost.balance[0, k]))
            for k, name in enumerate(found.occasion.corners)
            for label, cost in (("as given", found.given), ("this set-up", found.found))
        ],
        title="Balance: above 0 the front runs out of grip first; "
        f"sought {found.targets.style.balance:+g} points",
    )


def _turns_table(found: BaseSetup) -> Table:
    return Table(
        heads=[
            Head(text="corner", right=False),
            Head(text="cornering", unit="m/s²"),
            Head(text="as given", unit="1/s"),
            Head(text="this set-up", unit="1/s"),
        ],
        rows=[
            (
                one.corner,
                f"{one.lateral_acceleration:.1f}",
                f"{one.given:+.2f}",
                "not held" if one.found is None else f"{one.found:+.2f}",
            )
            for one in found.drive.turns
        ],
        title="Driven in steady turns: how fast a disturbance grows (below 0 it dies away)",
    )
