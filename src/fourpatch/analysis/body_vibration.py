"""How much of a vertical vibration a seated person feels: the weighting of ISO 2631-1."""

from collections.abc import Callable
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

_HIGH_PASS, _LOW_PASS = 0.4, 100.0  # f1, f2 [Hz]
_TRANSITION, _TRANSITION_Q = 12.5, 0.63  # f3 = f4 [Hz], Q4
_STEP_BELOW, _STEP_ABOVE, _STEP_Q = 2.37, 3.35, 0.91  # f5, f6 [Hz], Q5 = Q6

_RINGING = 8.0
"""Time after which the weighting has forgotten a jolt: its slowest poles decay by 2 pi 0.4 / sqrt(2) a
second, to 1e-6 in 8 s. [s]"""


def vertical_weighting(frequency: Array) -> Complex:
    """Return the weighting Wk: what is felt of a vertical acceleration at the seat, by frequency.

    Parameters
    ----------
    frequency : any shape, not negative. [Hz]

    Returns
    -------
    Complex
        Gain and phase, shape of `frequency`; largest, 1.054, at 6.3 Hz. [1]

    Notes
    -----
    A high pass at 0.4 Hz and a low pass at 100 Hz (two poles each, Butterworth), the change from
    acceleration to velocity at 12.5 Hz, and an upward step between 2.37 and 3.35 Hz:

        s² / (s² + w1 s / Q1 + w1²) * w2² / (s² + w2 s / Q2 + w2²) * (1 + s/w3) / (1 + s/(Q4 w4) + (s/w4)²)
        * (1 + s/(Q5 w5) + (s/w5)²) / (1 + s/(Q6 w6) + (s/w6)²) * (w5/w6)².

    Source: ISO 2631-1:1997 annex A as ISO 8041 gives it (seen in a vibration meter's manual that reproduces
    its table); checked against the standard's printed third-octave table in the tests.

    >>> [f"{abs(gain):.3f}" for gain in vertical_weighting(np.array([1.0, 8.0, 80.0]))]
    ['0.482', '1.036', '0.132']
    """
    f = np.asarray(frequency, dtype=np.float64)

    def two_poles(corner: float, q: float) -> Complex:
        ratio = f / corner
        return np.asarray(1.0 + 1j * ratio / q - ratio**2)

    butterworth = 1.0 / np.sqrt(2.0)
    band = -((f / _HIGH_PASS) ** 2) / two_poles(_HIGH_PASS, butterworth) / two_poles(_LOW_PASS, butterworth)
    transition = (1.0 + 1j * f / _TRANSITION) / two_poles(_TRANSITION, _TRANSITION_Q)
    step = (
        two_poles(_STEP_BELOW, _STEP_Q) / two_poles(_STEP_ABOVE, _STEP_Q) * (_STEP_BELOW / _STEP_ABOVE) ** 2
    )
    return np.asarray(band * transition * step)


def weighted(
    acceleration: Array, interval: float, *, weighting: Callable[[Array], Complex] = vertical_weighting
) -> Array:
    """Return an acceleration as it is felt, in time.

    Parameters
    ----------
    acceleration : (..., samples), quiet before the first sample. [m/s²]
    interval : between samples, 10 ms or less. [s]
    weighting : gain and phase by frequency [Hz].

    Returns
    -------
    Array
        Shape of `acceleration`. [m/s²]

    Notes
    -----
    The weighting multiplies the spectrum of the series with 8 s of quiet behind it, so that what rings after
    the end does not come round to the beginning. The gain is the standard's at every frequency up to half the
    sampling rate; nothing is warped as by a recursive filter.
    """
    from scipy.fft import irfft, next_fast_len, rfft

    samples = acceleration.shape[-1]
    padded = next_fast_len(samples + int(np.ceil(_RINGING / interval)), real=True)
    gain = _gain(weighting, padded, interval)
    return np.asarray(irfft(rfft(acceleration, padded) * gain, padded)[..., :samples])


@lru_cache(maxsize=8)
def _gain(weighting: Callable[[Array], Complex], samples: int, interval: float) -> Complex:
    """Gain at the frequencies of a series; kept, for it takes longer than the transforms."""
    from scipy.fft import rfftfreq

    gain = weighting(rfftfreq(samples, interval))
    gain.flags.writeable = False
    return gain
