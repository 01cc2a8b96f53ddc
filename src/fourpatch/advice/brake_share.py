"""The brake distribution at which both axles use their grip alike."""


def laden_front_share(*, front_load: float, rear_load: float, transfer: float) -> float:
    """Return the front share of braking force at which both axles brake in proportion to their load. [1]

    Parameters
    ----------
    front_load, rear_load : of the axles at that speed, not braking. [N]
    transfer : m a h / L, moving forward. [N]

    Notes
    -----
    Left out is that a tyre's friction falls with load, which moves the ideal rearward by less than a point.

    Source: textbook closed form (Gillespie, Fundamentals of Vehicle Dynamics, 1992, chapter 3, from memory);
    checked by hand in tests/validation/test_base_setup.py.
    """
    return (front_load + transfer) / (front_load + rear_load)
