"""Aerodynamic forces of the car from its speed and its two ride heights."""

from fourpatch.physics._compile import inline
from fourpatch.physics.layout import P
from fourpatch.physics.suspension import at
from fourpatch.physics.tyre import Workspace


@inline
def _area(S: Workspace, slot: int, lane: int, stride: int, f: float, r: float) -> float:
    return (
        at(S, slot, lane, stride)
        + f * (at(S, slot + 1, lane, stride) + f * at(S, slot + 3, lane, stride))
        + r
        * (
            at(S, slot + 2, lane, stride)
            + f * at(S, slot + 4, lane, stride)
            + r * at(S, slot + 5, lane, stride)
        )
    )


@inline
def aero_forces(
    S: Workspace, lane: int, stride: int, speed: float, front_height: float, rear_height: float
) -> tuple[float, float, float]:
    """Downforce at each axle and drag. [N]

    Parameters
    ----------
    speed : of the car through still air, along its path. [m/s]
    front_height, rear_height : ride heights above the road at the axles. [m]

    Returns
    -------
    front, rear, drag : positive downwards and rearwards. [N]

    Notes
    -----
    q A with q = rho v^2 / 2 and each area a quadratic of the two heights, held at its edge outside
    the heights the car's map covers. Side wind, what sideslip does to the areas, and delay of the flow are
    left out.
    """
    q = 0.5 * at(S, P.air_density, lane, stride) * speed * speed
    f = min(max(front_height, at(S, P.front_map_low, lane, stride)), at(S, P.front_map_high, lane, stride))
    r = min(max(rear_height, at(S, P.rear_map_low, lane, stride)), at(S, P.rear_map_high, lane, stride))
    f -= at(S, P.front_map_height, lane, stride)
    r -= at(S, P.rear_map_height, lane, stride)
    front = q * _area(S, P.front_downforce, lane, stride, f, r)
    rear = q * _area(S, P.rear_downforce, lane, stride, f, r)
    drag = q * _area(S, P.drag, lane, stride, f, r)
    return front, rear, drag
