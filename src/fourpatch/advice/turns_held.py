"""Set-ups put to the drive in steady turns: none may swing round where the one that was given does not."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import inf

import numpy as np

from fourpatch.advice.occasion import Occasion
from fourpatch.car.adjusters import Adjuster
from fourpatch.car.car import Car
from fourpatch.car.setup import Setup, apply_setup
from fourpatch.errors import CarError, SolveError
from fourpatch.events.corner import Corner
from fourpatch.events.steady_circle import steady_turn
from fourpatch.events.trial import lateral_acceleration

SHARES = (1.0, 0.95, 0.9, 0.85, 0.75, 0.65, 0.5)
"""Of a corner's lateral acceleration, tried in turn until the car that is asked first holds it."""

_BELOW = 0.9  # of the turn that is held: a car may swing round on the way to its limit and push at it
_NOT_HELD = 100.0  # stands for the growth of a car that the turn throws out: doubled in 7 ms [1/s]
_ROUNDS = 8  # of halving: no adjuster has more than 2**8 steps between two places


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnHeld:
    """A steady turn, driven with the set-up that was given and with the one that was found."""

    corner: str
    radius: float
    """[m]"""
    lateral_acceleration: float
    """[m/s^2]"""
    share: float
    """Of the lateral acceleration at which the corner is taken. [1]"""
    given: float
    """Growth of a disturbance, steer and throttle held; below 0 it dies away. [1/s]"""
    found: float | None
    """The same; None if the car cannot hold the turn."""


@dataclass(frozen=True, slots=True)
class _Turn:
    corner: str
    radius: float
    lateral_acceleration: float
    """Left positive. [m/s^2]"""
    share: float
    given: float

    def growth(self, car: Car) -> float | None:
        """Return the growth of a disturbance; None if the car cannot hold the turn. [1/s]"""
        try:
            turn = steady_turn(car, lateral_acceleration=self.lateral_acceleration, radius=self.radius)
        except SolveError:
            return None
        return float(turn.stability_reserve()[0])


class TurnCheck:
    """The steady turns of an occasion's corners, and what a car does in them as it was given.

    Notes
    -----
    A turn is the corner's radius at its lateral acceleration, or the largest share of it that the given car
    holds, and nine tenths of that. A car bears it if a disturbance dies away with steer, throttle and speed
    held (`SteadyTurns.stability_reserve`) or, where that of the given car grows, grows no faster.
    """

    def __init__(self, car: Car, given: Setup, occasion: Occasion) -> None:
        self._car = car
        standing = apply_setup(car, given)
        self._turns = [
            turn for name, corner in occasion.corners.items() for turn in _turns_of(standing, name, corner)
        ]
        self.not_asked = tuple(
            name for name in occasion.corners if all(turn.corner != name for turn in self._turns)
        )
        """Corners of which the given car holds not even the smallest share."""

    def bears(self, setup: Setup) -> bool:
        """Say whether a set-up bears every turn."""
        return all(self._excess(setup, turn) <= 0.0 for turn in self._turns)

    def nearest(self, setup: Setup) -> Callable[[Setup], bool]:
        """Return what says whether set-ups bear the turn in which one is nearest to not bearing it."""
        if not self._turns:
            return lambda _: True
        turn = max(self._turns, key=lambda one: self._excess(setup, one))
        return lambda changed: self._excess(changed, turn) <= 0.0

    def _excess(self, setup: Setup, turn: _Turn) -> float:
        """Return by how much a turn is not borne, above 0, or how far it is from that. [1/s]"""
        try:
            growth = turn.growth(apply_setup(self._car, setup))
        except CarError:
            return inf
        return (_NOT_HELD if growth is None else growth) - max(turn.given, 0.0)

    def held(self, setup: Setup) -> tuple[TurnHeld, ...]:
        """Return every turn with the given set-up and with another."""
        car = apply_setup(self._car, setup)
        return tuple(
            TurnHeld(
                corner=turn.corner,
                radius=turn.radius,
                lateral_acceleration=abs(turn.lateral_acceleration),
                share=turn.share,
                given=turn.given,
                found=turn.growth(car),
            )
            for turn in self._turns
        )

    def brought_back(self, setup: Setup, given: Setup, adjusters: Sequence[Adjuster]) -> Setup:
        """Return a set-up as near to one as the turns allow, on the way to the one that was given.

        Notes
        -----
        Each adjuster is put half its way back by itself; those that help in the worst turn are then put
        half back together, what helps most first, no more of them than it takes. Where all of them together
        do not do, every adjuster goes half its way back and the next round begins there.
        """
        for _ in range(_ROUNDS if self._turns else 0):
            beyond = [self._excess(setup, turn) for turn in self._turns]
            excess = max(beyond)
            if excess <= 0.0:
                return setup
            worst = self._turns[beyond.index(excess)]
            moved = away(setup, given, adjusters)
            gains = [excess - self._excess(half_back(setup, given, [one]), worst) for one in moved]
            order = sorted(range(len(moved)), key=lambda k: -gains[k])
            helping = [moved[k] for k in order if gains[k] > 0.0]
            setup = _first_that(
                self.bears,
                (half_back(setup, given, helping[: k + 1]) for k in range(len(helping))),
                otherwise=half_back(setup, given, adjusters),
            )
        return setup if self.bears(setup) else given


def _turns_of(standing: Car, name: str, corner: Corner) -> Iterator[_Turn]:
    side = 1.0 if corner.direction == "left" else -1.0
    wanted = side * lateral_acceleration(corner)
    for share in SHARES:
        first = _asked(standing, name, corner.radius, wanted, share)
        if first is None:
            continue
        yield first
        second = _asked(standing, name, corner.radius, wanted, _BELOW * share)
        if second is not None:
            yield second
        return


def _asked(standing: Car, name: str, radius: float, wanted: float, share: float) -> _Turn | None:
    turn = _Turn(name, radius, share * wanted, share, 0.0)
    growth = turn.growth(standing)
    return None if growth is None else replace(turn, given=growth)


def _first_that(bears: Callable[[Setup], bool], setups: Iterator[Setup], *, otherwise: Setup) -> Setup:
    return next((one for one in setups if bears(one)), otherwise)


def away(setup: Setup, given: Setup, adjusters: Sequence[Adjuster]) -> list[Adjuster]:
    """Return the adjusters that stand elsewhere than in another set-up."""
    return [one for one in adjusters if setup.position(one) != given.position(one)]


def half_back(setup: Setup, given: Setup, adjusters: Sequence[Adjuster]) -> Setup:
    """Return a set-up with adjusters half their way back to another, by a step at least."""
    values = dict(setup.values)
    for one in away(setup, given, adjusters):
        at, home = setup.position(one), given.position(one)
        steps = np.floor(0.5 * abs(at - home) / one.step + 1e-6)
        # Counted from home and rounded down, so that the last step is taken too.
        values[one.name] = one.nearest(home + np.sign(at - home) * steps * one.step) if steps else home
    return setup.model_copy(update={"values": values})
