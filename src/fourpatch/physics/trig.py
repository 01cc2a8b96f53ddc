"""Angle and exponential functions that stay in the vector lanes of the batch driver.

A call into the C mathematics library stops the vectoriser. These polynomials do not: they use
multiplication, addition, at most one division, and selections that become blends.

The coefficients are minimax, by Remez exchange in 50 digits (derived here): of f(x)/x in x² for the odd
functions, of the relative error for the exponential. They are summed in pairs rather than one after the
other, so that a processor finds independent work: a whole tyre takes about 20 % less time. The bounds
stated include rounding; tests/unit/physics/test_trig.py checks them.

Where the physics runs in single precision, whose own rounding is 6e-8, `IN_SINGLE` names what stands in for a
function: the same by fewer terms, summed one after the other.
"""

import math

import numpy as np

from fourpatch.physics._compile import inline

HALF_PI = math.pi / 2
EXPONENT_LIMIT = 2.0
"""Largest magnitude of exponent that `exponential` follows."""


@inline
def arctangent_unit(x: float) -> float:
    """Arctangent for |x| <= 1, in 26 operations without division or selection.

    Parameters
    ----------
    x : tangent, -1 to 1; the error grows fast beyond. [1]

    Returns
    -------
    float
        Angle, within 3.4e-10 |x|; exactly odd. [rad]
    """
    s = x * x
    s2 = s * s
    low = (0.9999999996672023 - 0.33333324718865887 * s) + (0.19999630603213492 - 0.1427949312912609 * s) * s2
    mid = (0.11056674996883249 - 0.08806906630315138 * s) + (
        0.06734632398815506 - 0.04461851630745936 * s
    ) * s2
    high = (0.02249655656970084 - 0.0073040872544553985 * s) + 0.001112075849206251 * s2
    s4 = s2 * s2
    return x * (low + s4 * (mid + s4 * high))


@inline
def arctangent_small(x: float) -> float:
    """Arctangent for small x, in 11 operations.

    Parameters
    ----------
    x : tangent, meant for -1/4 to 1/4. [1]

    Returns
    -------
    float
        Angle, within 1.5e-10 |x|, and within 3e-5 as far as 1/2; exactly odd. [rad]
    """
    s = x * x
    s2 = s * s
    low = (0.9999999998549685 - 0.3333332160980429 * s) + (0.19998481738718563 - 0.14216559042926982 * s) * s2
    return x * (low + 0.09807507158562168 * (s2 * s2))


@inline
def arctangent_positive(x: float) -> float:
    """Arctangent for x >= 0, in 32 operations of which one is a division.

    Parameters
    ----------
    x : tangent, 0 to infinity. [1]

    Returns
    -------
    float
        Angle, 0 to π/2, within 3.4e-10 of the smaller of x and 1. [rad]

    Notes
    -----
    arctan x = π/2 − arctan 1/x for x > 1: the smaller of x and 1 over the larger serves both sides.
    """
    angle = arctangent_unit(min(x, 1.0) / max(x, 1.0))
    return HALF_PI - angle if x > 1.0 else angle


@inline
def arctangent(x: float) -> float:
    """Arctangent of any number, infinities included: `arctangent_positive` made exactly odd. [rad]"""
    return math.copysign(arctangent_positive(abs(x)), x)


@inline
def sine_quarter(x: float) -> float:
    """Sine for |x| <= π/2, in 14 operations.

    Parameters
    ----------
    x : angle, -π/2 to π/2; the error grows fast beyond. [rad]

    Returns
    -------
    float
        Sine, within 1.8e-11 |x|; exactly odd. [1]
    """
    s = x * x
    s2 = s * s
    low = (0.9999999999830195 - 0.16666666617018888 * s) + (
        0.008333330980798428 - 0.00019840861927116778 * s
    ) * s2
    high = 2.752530444428399e-06 - 2.3889779146196904e-08 * s
    return x * (low + s2 * s2 * high)


@inline
def cosine_small(x: float) -> float:
    """Cosine for small x, in 8 operations.

    Parameters
    ----------
    x : angle, meant for -1/2 to 1/2. [rad]

    Returns
    -------
    float
        Cosine, within 7.6e-10, and within 2.4e-5 as far as 1; exactly even. [1]
    """
    s = x * x
    return (0.9999999992483554 - 0.49999990372252645 * s) + (
        0.04166473950962923 - 0.0013765374942397274 * s
    ) * (s * s)


@inline
def sine_cosine(x: float) -> tuple[float, float]:
    """Sine and cosine of any angle a car can turn through, in about 40 operations.

    Parameters
    ----------
    x : angle, up to 1e4 either way; beyond, the rounding of n π below adds to the error. [rad]

    Returns
    -------
    tuple of float
        Sine and cosine, each within 3e-11. [1]

    Notes
    -----
    With n the whole number nearest to x/π and r = x − n π, within ±π/2, both are (−1)ⁿ times their value
    at r. Rounding n π costs 2e-12 at 1e4 rad.
    """
    half_turns = np.floor(x * (1.0 / math.pi) + 0.5)
    odd = half_turns - 2.0 * np.floor(0.5 * half_turns)
    sign = 1.0 - 2.0 * odd
    rest = x - half_turns * math.pi
    return sign * sine_quarter(rest), sign * sine_quarter(HALF_PI - abs(rest))


@inline
def sine(x: float) -> float:
    """Sine of any angle a car can turn through: the first of `sine_cosine`. [1]"""
    return sine_cosine(x)[0]


@inline
def cosine(x: float) -> float:
    """Cosine of any angle a car can turn through: the second of `sine_cosine`. [1]"""
    return sine_cosine(x)[1]


@inline
def exponential(x: float) -> float:
    """Exponential for the load laws of the tyre, in 23 operations.

    Parameters
    ----------
    x : exponent; held at ±`EXPONENT_LIMIT` outside. [1]

    Returns
    -------
    float
        e to the power x, relatively within 2.5e-11. [1]

    Notes
    -----
    The eighth power of e^(x/8), whose exponent lies within ±1/4.
    """
    t = max(-EXPONENT_LIMIT, min(EXPONENT_LIMIT, x)) * 0.125
    t2 = t * t
    low = (0.9999999999971205 + 1.0000000000179396 * t) + (0.500000001492381 + 0.16666666448852646 * t) * t2
    high = (0.04166654641586726 + 0.008333395109736592 * t) + (
        0.0013919813512651815 + 0.0001980685125274826 * t
    ) * t2
    root = low + t2 * t2 * high
    square = root * root
    fourth = square * square
    return fourth * fourth


@inline
def arctangent_unit_single(x: float) -> float:
    """Arctangent for |x| <= 1, within 6e-7 |x|, in 14 operations. [rad]"""
    s = x * x
    high = 0.08435411612897362 + s * (-0.03744300839983398 + s * 0.008006911196965515)
    low = -0.33327013366883484 + s * (0.1988732135276693 + s * (-0.13512176866193162 + s * high))
    return x * (0.9999994166372201 + s * low)


@inline
def sine_quarter_single(x: float) -> float:
    """Sine for |x| <= π/2, within 8e-7 |x|, in 8 operations. [1]"""
    s = x * x
    high = 0.008313258709627005 - s * 0.00018524357221730195
    return x * (0.9999992456067525 + s * (-0.16665682729138878 + s * high))


@inline
def exponential_single(x: float) -> float:
    """Exponential as `exponential`, relatively within 9e-8, in 16 operations. [1]"""
    t = max(-EXPONENT_LIMIT, min(EXPONENT_LIMIT, x)) * 0.125
    high = 0.16666913095319796 + t * (0.04179646282019311 + t * 0.008314751324046884)
    root = 1.00000001033422 + t * (0.9999999563641502 + t * (0.4999969792665292 + t * high))
    square = root * root
    fourth = square * square
    return fourth * fourth


IN_SINGLE = {
    "arctangent_unit": arctangent_unit_single,
    "sine_quarter": sine_quarter_single,
    "exponential": exponential_single,
}
