"""The brake distribution at which both axles use their grip alike."""


def ideal_front_share(
    *, front_weight_share: float, cg_height: float, wheelbase: float, deceleration: float, gravity: float
) -> float:
    """Return the front share of braking force at which both axles brake in proportion to their load. [1]

    Parameters
    ----------
    front_weight_share : at rest. [1]
    cg_height, wheelbase : of the whole car. [m]
    deceleration, gravity : both positive. [m/s^2]

    Notes
    -----
    (load at rest + transfer) / weight = share + (a / g) h / L. Downforce is left out; `laden_front_share`
    has it. So is that a tyre's friction falls with load, which moves the ideal rearward by less than a point.

    Source: textbook closed form (Gillespie, Fundamentals of Vehicle Dynamics, 1992, chapter 3, from memory);
    checked by hand in tests/validation/test_base_setup.py.
    """
    return front_weight_share + deceleration / gravity * cg_height / wheelbase


def laden_front_share(*, front_load: float, rear_load: float, transfer: float) -> float:
    """Return the same with downforce: front load over all load while ``transfer`` moves forward. [1]

    Parameters
    ----------
    front_load, rear_load : of the axles at that speed, not braking. [N]
    transfer : m a h / L. [N]
    """
    return (front_load + transfer) / (front_load + rear_load)
