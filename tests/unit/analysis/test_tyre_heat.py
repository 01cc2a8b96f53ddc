"""Heat of a tyre: what comes in is stored or given off; its gas keeps p / T."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import solve_ivp

from fourpatch.analysis.tyre_heat import TyreHeat, warm_pressure
from fourpatch.car.parameters import TyreStint


def drawn(seed: int) -> tuple[TyreHeat, np.ndarray, np.ndarray]:
    """A tyre, where two of them start and what warms them."""
    random = np.random.default_rng(seed)
    usual = TyreStint()
    names = ("tread_capacity", "carcass_capacity", "tread_cooling", "carcass_cooling", "tread_to_carcass")
    made = {name: getattr(usual, name) * random.uniform(0.3, 3.0) for name in names}
    heat = TyreHeat(tyre=usual.model_copy(update=made), cooling=float(random.uniform(1.0, 3.0)))
    return heat, random.uniform(-20.0, 90.0, (2, 2)), random.uniform(0.0, 6e3, (2, 2))


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_what_comes_in_is_stored_or_given_off(seed: int) -> None:
    heat, start, power = drawn(seed)
    time = 137.0
    found = heat.warmed(start, power, time)
    stored = (heat.capacity * (found.end - start)).sum(axis=1)
    given_off = (heat.given_off * found.mean).sum(axis=1) * time
    # Energy, exact but for rounding.
    assert_allclose(power.sum(axis=1) * time, stored + given_off, rtol=1e-11)


@pytest.mark.parametrize("seed", [1, 2])
def test_the_way_there_is_that_of_an_integrator(seed: int) -> None:
    heat, start, power = drawn(seed)
    k, tyre = heat.tyre.tread_to_carcass, heat.tyre

    def rates(_: float, rise: np.ndarray) -> list[float]:
        tread, carcass = rise
        return [
            (power[0, 0] - heat.cooling * tyre.tread_cooling * tread - k * (tread - carcass))
            / tyre.tread_capacity,
            (power[0, 1] - tyre.carcass_cooling * carcass + k * (tread - carcass)) / tyre.carcass_capacity,
        ]

    reference = solve_ivp(rates, (0.0, 200.0), start[0], rtol=1e-10, atol=1e-9)
    # The integrator's tolerance.
    assert_allclose(heat.warmed(start, power, 200.0).end[0], reference.y[:, -1], rtol=1e-7)


def test_in_the_end_as_much_is_given_off_as_comes_in() -> None:
    heat, start, power = drawn(4)
    settled = heat.settled(power)
    # In closed form: T_c = (P_c + k T_t) / (G_c + k), T_t = (P_t + k T_c) / (G_t + k).
    between, (tread, carcass) = heat.tyre.tread_to_carcass, heat.given_off
    determinant = (tread + between) * (carcass + between) - between**2
    by_hand = np.stack(
        [
            (power[:, 0] * (carcass + between) + between * power[:, 1]) / determinant,
            (power[:, 1] * (tread + between) + between * power[:, 0]) / determinant,
        ],
        axis=1,
    )
    assert_allclose(settled, by_hand, rtol=1e-12)
    assert_allclose(heat.warmed(start, power, 40.0 * heat.settling).end, by_hand, rtol=1e-12)


def test_pressure_follows_absolute_temperature() -> None:
    # By hand: 1.5 bar gauge at 20 degC, at 80 degC: 2.51325 bar x 353.15 / 293.15 - 1.01325 bar.
    assert_allclose(warm_pressure(1.5e5, np.array(293.15), other=353.15), 201439.5, rtol=1e-6)
