"""The slips at which tyres deliver what the rig asks of them, for its tyres have forces and no slips."""

from fourpatch.physics._compile import inline, kernel
from fourpatch.physics.grip import differential_side_force
from fourpatch.physics.layout import TYRE_BASE, O, P
from fourpatch.physics.tyre import N_TYRE, Workspace, longitudinal_stiffness, tyre_forces

_CLOSE = 1e-4  # of the axle's load, of the force found
_TRIES = 15
_DIFFERENCE = 1e-5  # of a slip, for the slopes
_FARTHEST = 0.03  # longest step of a slip
_LESS = 0.97  # of what was asked, tried where the tyres cannot deliver it
_FEWEST = 0.3  # of it, below which nothing more is tried


@inline
def _tyres_at(
    p: Workspace, axle: int, row: Workspace, split: float, slip: float, tangent: float, found: Workspace
) -> tuple[float, float]:
    """Forces of an axle along and across [N]; ``found`` (8,) is filled for its left and its right tyre."""
    left = 2 * axle
    middle = 0.5 * (row[O.steer + left] + row[O.steer + left + 1])
    along, across = 0.0, 0.0
    for right in range(2):
        mirror = 1.0 - 2.0 * right
        own = row[O.steer + left + right] - middle
        turned = (tangent - own) / (1.0 + tangent * own)
        length, side = tyre_forces(
            p,
            TYRE_BASE + axle * N_TYRE,
            0,
            1,
            row[O.tyre_load + left + right],
            slip + mirror * split,
            mirror * turned,
            mirror * row[O.inclination + left + right],
        )
        found[4 * right], found[4 * right + 1] = slip + mirror * split, turned
        found[4 * right + 2], found[4 * right + 3] = length, mirror * side
        along += length
        across += mirror * side
    return along, across


@inline
def _search(
    p: Workspace,
    axle: int,
    row: Workspace,
    split: float,
    wanted_along: float,
    wanted_across: float,
    slip: float,
    tangent: float,
    found: Workspace,
) -> tuple[float, float, bool]:
    """Slip and tangent of the axle that deliver what is wanted, and whether they were found."""
    close = _CLOSE * max(row[O.tyre_load + 2 * axle] + row[O.tyre_load + 2 * axle + 1], 1.0)
    along, across = _tyres_at(p, axle, row, split, slip, tangent, found)
    over, aside = along - wanted_along, across - wanted_across
    reach = _FARTHEST
    for _ in range(_TRIES):
        if over * over + aside * aside < close * close:
            return slip, tangent, True
        by_slip = _tyres_at(p, axle, row, split, slip + _DIFFERENCE, tangent, found)
        by_tangent = _tyres_at(p, axle, row, split, slip, tangent + _DIFFERENCE, found)
        a, b = (by_slip[0] - along) / _DIFFERENCE, (by_tangent[0] - along) / _DIFFERENCE
        c, d = (by_slip[1] - across) / _DIFFERENCE, (by_tangent[1] - across) / _DIFFERENCE
        determinant = a * d - b * c
        if determinant == 0.0:
            break
        more_slip = (b * aside - d * over) / determinant
        more_tangent = (c * over - a * aside) / determinant
        far = max(abs(more_slip), abs(more_tangent))
        part = min(1.0, reach / far)
        tried_slip, tried_tangent = slip + part * more_slip, tangent + part * more_tangent
        tried = _tyres_at(p, axle, row, split, tried_slip, tried_tangent, found)
        next_over, next_aside = tried[0] - wanted_along, tried[1] - wanted_across
        if next_over * next_over + next_aside * next_aside < over * over + aside * aside:
            slip, tangent, along, across = tried_slip, tried_tangent, tried[0], tried[1]
            over, aside, reach = next_over, next_aside, min(2.0 * reach, _FARTHEST)
        else:
            reach = 0.25 * min(reach, far)
    return slip, tangent, over * over + aside * aside < close * close


@inline
def _locked_split(p: Workspace, axle: int, row: Workspace, curvature: float, speed: float) -> float:
    """Slip by which a differential lets the left tyre of an axle exceed their mean in a turn. [1]"""
    tyre = TYRE_BASE + axle * N_TYRE
    stiffness = longitudinal_stiffness(p, tyre, 0, 1, row[O.tyre_load + 2 * axle]) + longitudinal_stiffness(
        p, tyre, 0, 1, row[O.tyre_load + 2 * axle + 1]
    )
    moved = differential_side_force(p, P.front_lock_preload + 4 * axle, axle, row, curvature, speed)
    # At one speed of both wheels the slips differ by track x curvature, and half of it times half of the
    # stiffness is the force that is then moved.
    return 2.0 * moved / max(stiffness, 1.0) * (1.0 if curvature > 0.0 else -1.0)


@kernel
def tyre_slips(
    parameters: Workspace,
    outputs: Workspace,
    curvature: Workspace,
    speed: Workspace,
    lateral: Workspace,
    tyres: Workspace,
    slope: Workspace,
    share: Workspace,
) -> None:
    """Fill the slips and forces of all tyres at which each axle delivers what the rig asks of it.

    Parameters
    ----------
    parameters : (cars, N_PARAMETER)
    outputs : (cars, samples, N_OUTPUT) of the rig.
    curvature, speed : (samples,) of the path. [1/m], [m/s]
    lateral : (cars, samples, 2) force asked of each axle, differentials included. [N]
    tyres : (cars, samples, 4, 4), filled by tyre: longitudinal slip [1], tangent of the slip angle [1], force
        along and across the wheel [N], left positive.
    slope : (cars, samples, 2), filled: change of an axle's lateral force with the tangent of its slip angle,
        negative below the peak. [N]
    share : (cars, samples, 2), filled: of what is asked that the axle delivers, 1 nearly always.

    Notes
    -----
    Both tyres of an axle have one slip angle, toe apart, and one longitudinal slip, apart by what their
    differential holds together. The loads and inclinations are those of the instant; tyres do not lag. Where
    the tyres cannot deliver what is asked, 97 % of it is tried, then of that, and so on: the axle slides at
    its limit, and the rest is missing. Each instant begins where the one before ended.

    Left out: that front wheels stand at an angle to the car, 1 % of a force at 8 deg.

    Source: derived here.
    """
    for car in range(parameters.shape[0]):
        p = parameters[car]
        for axle in range(2):
            slip, tangent = 0.0, 0.0
            for n in range(outputs.shape[1]):
                row = outputs[car, n]
                found = tyres[car, n, 2 * axle : 2 * axle + 2].reshape(8)
                split = _locked_split(p, axle, row, curvature[n], speed[n])
                along = row[O.longitudinal_force + 2 * axle] + row[O.longitudinal_force + 2 * axle + 1]
                across = lateral[car, n, axle]
                delivered, solved = 1.0, False
                while not solved and delivered > _FEWEST:
                    wanted = (delivered * along, delivered * across)
                    slip, tangent, solved = _search(
                        p, axle, row, split, wanted[0], wanted[1], slip, tangent, found
                    )
                    if not solved:
                        slip, tangent, solved = _search(
                            p, axle, row, split, wanted[0], wanted[1], 0.0, 0.0, found
                        )
                    if not solved:
                        slip, tangent = 0.0, 0.0
                        delivered *= _LESS
                share[car, n, axle] = delivered if solved else 0.0
                more = _tyres_at(p, axle, row, split, slip, tangent + _DIFFERENCE, found)[1]
                slope[car, n, axle] = (
                    more - _tyres_at(p, axle, row, split, slip, tangent, found)[1]
                ) / _DIFFERENCE
