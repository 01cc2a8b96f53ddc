"""Which of many answers are not beaten in everything by another one."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def pareto_front(objectives: Array) -> NDArray[np.bool_]:
    """Return which rows no other row dominates, (n,).

    Parameters
    ----------
    objectives : (n, k), less is better; a row with what is not finite is never on the front.

    Notes
    -----
    A row dominates another if it is nowhere larger and somewhere smaller. Equal rows do not dominate each
    other, so twins stay together. Sorted first, so that a row can be dominated only by an earlier one.
    """
    front: NDArray[np.bool_] = np.asarray(np.isfinite(objectives).all(axis=1))
    rows = np.flatnonzero(front)
    order = rows[np.lexsort(objectives[rows].T[::-1])]
    kept: list[int] = []
    for row in order:
        held = objectives[kept]
        better = (held <= objectives[row]).all(axis=1) & (held < objectives[row]).any(axis=1)
        if better.any():
            front[row] = False
        else:
            kept.append(int(row))
    return front
