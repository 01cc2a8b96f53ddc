"""The force of a contact patch at any slip: the Magic Formula while it grips, friction once it slides.

The formula is fitted to rolling tyres. At the slip of a locked wheel its combined forces lose their
direction: they hang on how far a cosine has run out, and may even point along the slip. There the patch
rubs on the road, and its force is against its own velocity.
"""

import math

from fourpatch.physics._compile import inline, place
from fourpatch.physics.tyre import T, Workspace, formula_forces

GRIPS = 2.5
"""Slip up to which the formula alone counts, in slips of the peak."""
SLIDES = 5.0
"""Slip from which friction alone counts, in slips of the peak."""
_LEAST_SQUARE = 1e-12  # of a slip, to divide by


@inline
def patch_forces(
    S: Workspace, base: int, lane: int, stride: int, Fz: float, kappa: float, tan_alpha: float, gamma: float
) -> tuple[float, float]:
    """Longitudinal and lateral force of a tyre at any slip, a locked or spinning wheel's included.

    Parameters
    ----------
    S, base, lane, stride, Fz, kappa, tan_alpha, gamma : as at the head of tyre.py; |gamma| <= π/2.

    Returns
    -------
    tuple of float
        Fx, Fy, both 0 without load. [N]

    Notes
    -----
    The patch slides over the road at |u| (-kappa, tan_alpha), u the wheel's forward speed, so friction is
      (Fx, Fy) = F (kappa, -tan_alpha) / s,  s = sqrt(kappa² + tan_alpha²),
      F = (|Fx_pure| kappa² + |Fy_pure| tan_alpha²) / s².
    F passes from the set's own longitudinal to its own lateral force with the direction and never exceeds
    the larger of the two: pure slips keep the formula's curve, a locked wheel running straight its braking
    force. The formula is asked for slips up to 1, a locked wheel's and that of 45°: beyond, friction stays,
    also across, where both slips are without bounds. A set that slides less well along than across keeps
    that difference; one alike in both slides alike within 4 % (measured: most at 26°).

    What counts as sliding is (kappa / kappa_peak)² + (tan_alpha / tan_peak)², the slips of the peaks taken at
    nominal load: below `GRIPS`² the formula alone, above `SLIDES`² friction alone, between them a smooth
    step. Tyres are measured to about twice the slip of their peak; there the formula stays as it is. A
    locked wheel always slides, for a peak counts at most at a slip of 1 / `SLIDES`.

    35 multiplications and additions, 7 comparisons, a division and a root beside the formula's.

    Source: derived here from Coulomb's friction; `GRIPS` and `SLIDES` are choices of ours.
    """
    held_x, held_y = max(-1.0, min(1.0, kappa)), max(-1.0, min(1.0, tan_alpha))
    formula = formula_forces(S, base, lane, stride, Fz, held_x, held_y, gamma)
    along, across = kappa * kappa, tan_alpha * tan_alpha
    per_slip = 1.0 / math.sqrt(max(along + across, _LEAST_SQUARE))
    at = base * stride + lane
    sharp_x, sharp_y = S[place(T.sharpness_x, at, stride)], S[place(T.sharpness_y, at, stride)]
    peaks = sharp_x * sharp_x * along + sharp_y * sharp_y * across
    part = max(0.0, min(1.0, (peaks - GRIPS * GRIPS) / (SLIDES * SLIDES - GRIPS * GRIPS)))
    slides = part * part * (3.0 - 2.0 * part)
    friction = abs(formula.Fx_pure) * along + abs(formula.Fy_pure) * across
    friction *= slides * per_slip * per_slip * per_slip
    grips = 1.0 - slides
    return grips * formula.Fx + friction * kappa, grips * formula.Fy - friction * tan_alpha
