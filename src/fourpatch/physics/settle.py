"""Where cars rest on the rig: Newton's method on heights and angles, the tyres' slips following."""

from typing import NamedTuple

import numpy as np

from fourpatch.physics._compile import driver, inline, kernel, place
from fourpatch.physics.integrate import load_car
from fourpatch.physics.layout import (
    INPUT_BASE,
    N_INPUT,
    N_POSITION,
    N_RIG,
    N_WORKSPACE,
    RATE_BASE,
    STATE_BASE,
)
from fourpatch.physics.rig import (
    begin_slips,
    looks_at_tyres,
    rig_balance,
    rig_motion,
    step_slips,
)
from fourpatch.physics.tyre import Workspace

_LOOKS = 12  # at the tyres, between which the car moves to where it rests
_TOGETHER = 12  # steps of slips and place together, where a tyre near its limit answers strongly
_TRIES = 25  # steps to rest at the slips held
_FARTHEST = 0.05  # longest step of a height [m] or angle [rad]
_SHORTEST = 1e-9  # step below which a car that gets no nearer counts as lost
_DIFFERENCE = 1e-7  # for the Jacobian
_SETTLED = 1e-10  # last step of heights and angles
_AT_REST_NEARLY = 1e-4  # movement between two looks below which slips go on from where they are
_ROUNDS = 30  # of the search for slips, from nothing
_FEW_ROUNDS = 2  # of it after a small movement


@inline
def _accelerations(S: Workspace, positions: Workspace, rates: Workspace) -> float:
    """Fill the accelerations of a car at rest in given positions; return the root of their squares' sum."""
    for k in range(N_POSITION):
        S[place(STATE_BASE + k, 0, 1)] = positions[k]
    rig_motion(S, 0, 1)
    rig_balance(S, 0, 1)
    square = 0.0
    for k in range(N_POSITION):
        rates[k] = S[place(RATE_BASE + N_POSITION + k, 0, 1)]
        square += rates[k] * rates[k]
    return np.sqrt(square)


@inline
def _solve(matrix: Workspace, right: Workspace) -> bool:
    """Solve by elimination with pivots, in place; return whether there is one solution."""
    n = right.shape[0]
    for column in range(n):
        pivot = column
        for row in range(column + 1, n):
            if abs(matrix[row, column]) > abs(matrix[pivot, column]):
                pivot = row
        if not abs(matrix[pivot, column]) > 0.0:
            return False
        for k in range(n):
            matrix[column, k], matrix[pivot, k] = matrix[pivot, k], matrix[column, k]
        right[column], right[pivot] = right[pivot], right[column]
        for row in range(column + 1, n):
            share = matrix[row, column] / matrix[column, column]
            for k in range(column, n):
                matrix[row, k] -= share * matrix[column, k]
            right[row] -= share * right[column]
    for row in range(n - 1, -1, -1):
        for k in range(row + 1, n):
            right[row] -= matrix[row, k] * right[k]
        right[row] /= matrix[row, row]
    return True


class _Room(NamedTuple):
    """Arrays to work in."""

    rates: Workspace
    moved: Workspace
    change: Workspace
    best: Workspace
    kept: Workspace
    jacobian: Workspace


@driver
def _rest(S: Workspace, positions: Workspace, room: _Room) -> float:
    """Move a car to where it rests at the slips held; return how far it went, below 0 if it is lost."""
    rates, moved, change, best, _, jacobian = room
    least, reach, size, way = np.inf, _FARTHEST, np.inf, 0.0
    for _ in range(_TRIES):
        residual = _accelerations(S, positions, rates)
        if residual < least:
            least = residual
            reach = min(2.0 * reach, _FARTHEST)
            for k in range(N_POSITION):
                best[k] = positions[k]
                positions[k] += _DIFFERENCE
                _accelerations(S, positions, moved)
                positions[k] = best[k]
                for row in range(N_POSITION):
                    jacobian[row, k] = (moved[row] - rates[row]) / _DIFFERENCE
                change[k] = -rates[k]
            if not _solve(jacobian, change):
                return -1.0
            size = 0.0
            for k in range(N_POSITION):
                size = max(size, abs(change[k]))
        else:
            reach = 0.25 * min(reach, size)
        part = min(1.0, reach / max(size, 1e-300))
        for k in range(N_POSITION):
            positions[k] = best[k] + part * change[k]
        way = max(way, part * size)
        if size < _SETTLED:
            return way
        if reach < _SHORTEST:
            return -1.0
    return -1.0


@driver
def _rest_as_slips_answer(S: Workspace, positions: Workspace, close: float, room: _Room) -> bool:
    """Move a car near its rest to it, by Newton's method with slips that answer each movement."""
    rates, moved, change, _, _, jacobian = room
    for _ in range(_TOGETHER):
        # Base and differences in one loop, so that the tyres are compiled once.
        for column in range(N_POSITION + 1):
            if column > 0:
                positions[column - 1] += _DIFFERENCE
            _accelerations(S, positions, moved)
            step_slips(S, _FEW_ROUNDS if column > 0 else _ROUNDS)
            _accelerations(S, positions, moved)
            if column > 0:
                positions[column - 1] -= _DIFFERENCE
            for row in range(N_POSITION):
                if column == 0:
                    rates[row], change[row] = moved[row], -moved[row]
                else:
                    jacobian[row, column - 1] = (moved[row] - rates[row]) / _DIFFERENCE
        if not _solve(jacobian, change):
            return False
        size = 0.0
        for k in range(N_POSITION):
            size = max(size, abs(change[k]))
        part = min(1.0, 0.2 * _FARTHEST / max(size, 1e-300))
        for k in range(N_POSITION):
            positions[k] += part * change[k]
        if size < close:
            return True
    return False


@driver
def _settle_one(S: Workspace, positions: Workspace, close: float, room: _Room) -> bool:
    """Move one car, loaded in ``S``, to where it rests; return whether it does."""
    looks = looks_at_tyres(S)
    near = False
    for k in range(N_POSITION):
        near |= positions[k] != 0.0
    way = 1.0
    for _ in range(_LOOKS):
        far = 0.0
        if looks:
            # From nothing while the loads change: slips that once went past a tyre's peak, asked for too
            # much, would not find back.
            if way > _AT_REST_NEARLY:
                begin_slips(S, 0, 1)
            _accelerations(S, positions, room.rates)
            # Far from rest the loads would ask too much.
            far = step_slips(S, _ROUNDS if near else 0)
        way = _rest(S, positions, room)
        if way < 0.0:
            return False
        if (not looks) | ((way < close) & (far < close)):
            return True
        near = True
    for k in range(N_POSITION):
        room.kept[k] = positions[k]
    if not _rest_as_slips_answer(S, positions, close, room):
        for k in range(N_POSITION):
            positions[k] = room.kept[k]
    return True


@kernel
def settle_on_rig(
    parameters: Workspace, inputs: Workspace, close: float, positions: Workspace, settled: Workspace
) -> None:
    """Move cars to where they rest, each in its own steady motion.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    inputs : (cars, N_INPUT), held.
    close : movement and change of a slip between two looks at the tyres below which a car counts as settled.
    positions : (cars, 7), where to begin; filled with where they rest, or were last.
    settled : (cars,), filled: 1 where a car rests, else 0.

    Notes
    -----
    In turn the slips are looked at and the car moves to where it rests with them, by Newton's method on its
    seven accelerations; no step is longer than 0.05, and one that leaves the car further from balance is
    taken back and a quarter of it tried. Where that does not end soon, both move together. Tyres asked for
    more than they can give find no slips: the car then rests as they were looked at last, and what its axles
    use tells that it is too much.
    """
    S = np.zeros(N_WORKSPACE)
    state = np.zeros(N_RIG)
    room = _Room(
        np.empty(N_POSITION),
        np.empty(N_POSITION),
        np.empty(N_POSITION),
        np.empty(N_POSITION),
        np.empty(N_POSITION),
        np.empty((N_POSITION, N_POSITION)),
    )
    for car in range(parameters.shape[0]):
        load_car(S, 0, 1, parameters[car], state, N_RIG)
        for k in range(N_INPUT):
            S[place(INPUT_BASE + k, 0, 1)] = inputs[car, k]
        begin_slips(S, 0, 1)
        found = _settle_one(S, positions[car], close, room)
        settled[car] = 1.0 if found else 0.0
