"""Natural motions of the linear car: how fast each swings, how it dies away, and what it looks like."""

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.linear_model import LinearDampers, LinearModel, linearise
from fourpatch.analysis.quantity import ANGLE, DECAY, FREQUENCY, RATIO, Corners, Findings
from fourpatch.analysis.statics import HIGH_DAMPER_SPEED, LOW_DAMPER_SPEED
from fourpatch.analysis.wheel_rates import corner_values
from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.events.motion import steady_inputs
from fourpatch.physics.layout import N_POSITION, C, Y

Complex = NDArray[np.complex128]
Real = NDArray[np.float64]

NAMES = ("heave", "pitch", "roll", "front hop", "front tramp", "rear hop", "rear tramp")
"""What the seven modes are called after: hop is both wheels of an axle alike, tramp one against the other."""

_OSCILLATING = 1e-9  # imaginary over absolute part above which an eigenvalue is one of a pair


PURE = 0.5
"""Part of the naming pattern in a mode below which its name is loose."""


class Mode(Findings):
    """One natural motion of the linear car."""

    name: str
    """By the pattern that takes the largest part in it."""
    undamped_frequency: Annotated[float | None, FREQUENCY]
    """Of the mode of this name with all dampers taken out; none where it would not swing."""
    damped_frequency: Annotated[float, FREQUENCY]
    """At which it swings; 0 where it creeps back without swinging."""
    damping_ratio: Annotated[float | None, RATIO]
    """-(s1 + s2) / (2 sqrt(s1 s2)) of its two eigenvalues; above 1 it creeps; none where it diverges."""
    decay_rate: Annotated[float, DECAY]
    """Share lost per time of its slower part, 1 / time constant; below zero it diverges."""
    participation: Annotated[float, RATIO]
    """Part that the pattern of its name takes in it, 0 to 1; well below 1 the mode is mixed."""
    body: Annotated[Corners, RATIO]
    """Vertical motion of the body over each wheel, against the largest motion of all eight points."""
    wheel: Annotated[Corners, RATIO]
    """Vertical motion of each wheel on the same scale."""
    body_phase: Annotated[Corners, ANGLE]
    """By how much each point of the body leads the largest motion."""
    wheel_phase: Annotated[Corners, ANGLE]
    """By how much each wheel leads it."""


class CarModes(Findings):
    """The seven modes at two damper speeds, in the order of `NAMES`."""

    low_speed: tuple[Mode, ...]
    """With the damper slopes of low speed, mean of bump and rebound."""
    high_speed: tuple[Mode, ...]
    """With those of high speed."""


def car_modes(
    car: Car,
    *,
    speed: float = 0.0,
    low_damper_speed: float = LOW_DAMPER_SPEED,
    high_damper_speed: float = HIGH_DAMPER_SPEED,
) -> CarModes:
    """Return the modes of a car driving straight ahead.

    Parameters
    ----------
    speed : of the car, which sets downforce and ride height; 0 at rest. [m/s]
    low_damper_speed, high_damper_speed : at which damper slopes are read. [m/s]

    Raises
    ------
    SolveError
        If the car finds no place to rest at that speed.
    """
    vector, inputs = pack(car), steady_inputs(car, speed=speed)

    def at(damper_speed: float) -> tuple[Mode, ...]:
        dampers = LinearDampers(speed=damper_speed)
        return modes(linearise(vector, inputs, dampers=dampers, name="modes"))

    return CarModes(low_speed=at(low_damper_speed), high_speed=at(high_damper_speed))


def modes(model: LinearModel) -> tuple[Mode, ...]:
    """Return the seven modes of a linear car, in the order of `NAMES`.

    Notes
    -----
    Participation of a pattern in an eigenvalue is |w v| of left and right eigenvectors, position and rate
    taken together and all patterns scaled to a sum of 1; it does not depend on units. Each swinging pair gets
    the name for which the sum of participations is largest; the real eigenvalues that are left fill the
    names that are left, two by two, and such a pair is a mode with a damping ratio above 1. Two creeping
    motions of different patterns may mix; then a name is a convention.

    Source: participation factors as in Perez-Arriaga, Verghese & Schweppe, IEEE Trans. PAS 101 (1982) (from
    memory); the naming is ours.
    """
    undamped = model.A.copy()
    undamped[N_POSITION:, N_POSITION:] = 0.0
    free, damped = _named_pairs(undamped), _named_pairs(model.A)
    return tuple(_mode(name, damped[name], model, swing=free[name].natural_frequency) for name in NAMES)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pair:
    """Two eigenvalues that make one mode."""

    values: Complex
    """The one that turns forward first; of two that creep, the slower one."""
    shape: Complex
    """Of the first: the seven positions."""
    participation: float
    """Of the pattern that gave the name, in the first."""

    @property
    def natural_frequency(self) -> float | None:
        """The frequency of the mode without its own damping, where it has one [Hz]."""
        product = float(np.real(self.values[0] * self.values[1]))
        return float(np.sqrt(product) / (2.0 * np.pi)) if product > 0.0 else None


def _patterns() -> Real:
    """Return positions of the car as columns, (7, 7): a unit of each pattern, in the order of `NAMES`."""
    patterns = np.zeros((N_POSITION, N_POSITION))
    for column, state in enumerate((Y.heave, Y.pitch, Y.roll)):
        patterns[state, column] = 1.0
    for axle in range(2):
        left = Y.wheel + 2 * axle
        patterns[left : left + 2, 3 + 2 * axle] = 1.0, 1.0
        patterns[left : left + 2, 4 + 2 * axle] = 1.0, -1.0
    return patterns


def _named_pairs(A: Real) -> dict[str, _Pair]:
    transform = np.kron(np.eye(2), _patterns())
    values, right = np.linalg.eig(np.linalg.solve(transform, A @ transform))
    part = np.abs(right * np.linalg.inv(right).T)
    part = part[:N_POSITION] + part[N_POSITION:]
    part /= part.sum(axis=0)
    shapes = (transform @ right)[:N_POSITION]
    named = {}
    for index, members in _members(values, part).items():
        # A swinging pair is told apart by its sign, not by rounding in its equal real parts.
        first, second = sorted(members, key=lambda k: (-values[k].imag, -values[k].real))
        named[NAMES[index]] = _Pair(
            values=values[[first, second]], shape=shapes[:, first], participation=float(part[index, first])
        )
    return named


def _members(values: Complex, part: Real) -> dict[int, list[int]]:
    """Return which two eigenvalues belong to each name.

    Parameters
    ----------
    values : (14,)
    part : (7, 14), participation of each pattern in each eigenvalue.
    """
    from scipy.optimize import linear_sum_assignment

    swings = np.abs(values.imag) > _OSCILLATING * np.abs(values)
    upper = np.flatnonzero(swings & (values.imag > 0.0))
    rows, names = linear_sum_assignment(-part[:, upper].T)
    members = {}
    for row, name in zip(rows, names, strict=True):
        partner = int(np.argmin(np.abs(values - np.conj(values[upper[row]]))))
        members[int(name)] = [int(upper[row]), partner]
    creeping = np.flatnonzero(~swings)
    seats = np.repeat([name for name in range(len(NAMES)) if name not in members], 2).astype(int)
    rows, places = linear_sum_assignment(-part[seats][:, creeping].T)
    for row, place in zip(rows, places, strict=True):
        members.setdefault(int(seats[place]), []).append(int(creeping[row]))
    return members


def _mode(name: str, pair: _Pair, model: LinearModel, *, swing: float | None) -> Mode:
    x, y = corner_values(model.vector, C.x), corner_values(model.vector, C.y)
    body = pair.shape[Y.heave] - x * pair.shape[Y.pitch] + y * pair.shape[Y.roll]
    points = np.concatenate([body, pair.shape[Y.wheel : Y.wheel + 4]])
    # Of several equally large, the first one is the reference, whatever rounding says.
    largest = int(np.argmax(np.abs(points) > (1.0 - 1e-6) * np.abs(points).max()))
    points = points / points[largest]
    size, phase = np.abs(points), np.angle(points)
    natural = pair.natural_frequency
    return Mode(
        name=name,
        undamped_frequency=swing,
        damped_frequency=float(abs(pair.values[0].imag) / (2.0 * np.pi)),
        damping_ratio=(
            float(-np.real(pair.values.sum()) / (4.0 * np.pi * natural)) if natural is not None else None
        ),
        decay_rate=float(-pair.values.real.max()),
        participation=pair.participation,
        body=Corners(*size[:4].tolist()),
        wheel=Corners(*size[4:].tolist()),
        body_phase=Corners(*phase[:4].tolist()),
        wheel_phase=Corners(*phase[4:].tolist()),
    )
