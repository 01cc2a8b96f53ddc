"""The map over bump and rebound: its middle is the set-up, its sides are alike, its words are computed."""

import numpy as np
import pytest
import xarray as xr
from numpy.testing import assert_allclose

from fourpatch.analysis.contact_patch_load import contact_patch_load
from fourpatch.analysis.damper_map import (
    MEASURES,
    best_damping,
    damped,
    damper_map,
    good_ratios,
    present_ratio,
    present_value,
    valley,
)
from fourpatch.car.pack import pack
from fourpatch.events.kerb_strike import KerbStrike
from fourpatch.events.rough_road import RoughRoad
from fourpatch.events.run import run_rig, stable_step, stacked
from fourpatch.physics.layout import CORNER_BASE, KNOTS, N_CORNER, C
from fourpatch.picture.damper_map_meaning import maps_meaning

KERB = KerbStrike(height=0.04, recovery=0.4)


def _given(values, road_class=None):
    """A map of given costs, on factors that are powers of two."""
    factors = 2.0 ** np.arange(-(len(values) // 2), len(values) // 2 + 1)
    attrs = {"road_class": road_class} if road_class else {}
    return xr.Dataset(
        {"grip_lost": (("bump", "rebound"), np.asarray(values))},
        coords={"bump": factors, "rebound": factors},
        attrs=attrs,
    )


@pytest.mark.parametrize("axle", ["front", "rear"])
@pytest.mark.parametrize("part", ["all", "low", "high"])
def test_points_are_setups_run_directly(axle, part, full_car):
    found = damper_map(full_car, KERB, axle=axle, part=part, size=3)
    factors = {0: 1.0 / 3.0, 1: 1.0, 2: 3.0}
    points = ((1, 1), (0, 2), (2, 1))
    vector = pack(full_car)
    vectors = stacked(
        [damped(vector, axle=axle, bump=factors[b], rebound=factors[r], part=part) for b, r in points]
    )
    assert_allclose(vectors[0], vector, rtol=1e-12)
    motion = KERB.motion(full_car, stable_step(vectors))
    one = contact_patch_load(
        vectors, run_rig(vectors, motion), motion, ["one", "two", "three"], since=motion.phases[1].start
    )
    corners = {"front": ["FL", "FR"], "rear": ["RL", "RR"]}[axle]
    for name in MEASURES:
        direct = one[name].sel(corner=corners).mean("corner") if "corner" in one[name].dims else one[name]
        mapped = [found[name].values[point] for point in points]
        # The same arithmetic, in lanes: rounding.
        assert_allclose(mapped, direct, rtol=1e-9, atol=1e-12, err_msg=name)
    assert_allclose(present_value(found), found.grip_lost[1, 1])


def test_sides_of_the_car_are_alike(full_car):
    left, right = (
        damper_map(full_car, KERB.model_copy(update={"side": side}), axle="rear", size=3)
        for side in ("left", "right")
    )
    for name in MEASURES:
        # The mirrored car does the mirrored sums: rounding.
        assert_allclose(left[name], right[name], rtol=1e-9, atol=1e-12, err_msg=name)


def test_a_stiff_corner_of_the_plane_runs_at_its_own_step(car_with, straight_damper):
    """Of very stiff dampers, those that need a shorter step get it, and the middle stays what it was."""
    car = car_with({f"{end}.damper": straight_damper(28e3) for end in ("front", "rear")})
    steps = {stable_step(damped(pack(car), axle="front", bump=f, rebound=f)[None]) for f in (1.0, 3.0)}
    assert len(steps) == 2
    found = damper_map(car, KERB, axle="front", size=3)
    assert np.isfinite(found.to_array()).all()
    assert_allclose(found.grip_lost[1, 1], damper_map(car, KERB, axle="front", size=1).grip_lost[0, 0])


def test_parts_of_the_curve(full_car):
    vector = pack(full_car)

    def force(changed, speed):
        """Bump force of FL, from the slopes of its packed curve."""
        block = changed[CORNER_BASE : CORNER_BASE + N_CORNER]
        past = np.maximum(speed - block[C.bump_knots : C.bump_knots + KNOTS], 0.0)
        return block[C.bump_slope] * speed + past @ block[C.bump_knots + KNOTS : C.bump_knots + 2 * KNOTS]

    knee, beyond = 0.08, 0.2
    at, slope = force(vector, knee), force(vector, beyond) - force(vector, knee)
    doubled = {"all": (2 * at, 2 * slope), "low": (2 * at, slope), "high": (at, 2 * slope)}
    for part, expected in doubled.items():
        changed = damped(vector, axle="front", bump=2.0, rebound=1.0, part=part)
        found = force(changed, knee), force(changed, beyond) - force(changed, knee)
        assert_allclose(found, expected, rtol=1e-12, err_msg=part)
    # The rebound of the same wheel and the other axle stay.
    other = damped(vector, axle="front", bump=2.0, rebound=1.0)
    assert np.count_nonzero(other != vector) <= 2 * (KNOTS + 1)
    # Given: 5500 over 3000 N s/m, and 2600 over 1300 beyond the knees.
    assert_allclose(present_ratio(vector, axle="front"), 5500.0 / 3000.0)
    assert_allclose(present_ratio(vector, axle="front", part="high"), 2.0)


def test_best_valley_and_ratios_of_a_given_map():
    """Cost |log2(bump rebound)| / 2 + |log2(rebound / bump)|: least at (1, 1)."""
    k = np.arange(-2.0, 3.0)
    bump, rebound = np.meshgrid(k, k, indexing="ij")
    given = _given(0.5 * np.abs(bump + rebound) + np.abs(rebound - bump))
    best = best_damping(given)
    assert (best.bump, best.rebound, best.value, best.at_edge) == (1.0, 1.0, 0.0, False)
    assert_allclose(valley(given), given.bump)  # the ratio counts for more than the total
    good = good_ratios(given, cost=2.0)
    assert (good.low, good.high) == (0.25, 4.0)
    assert good.width == 16.0
    # The next ratios, 8 and 1/8, have two points each, both on the edge.
    assert good.low_open
    assert good.high_open
    strict = good_ratios(given, cost=0.5)
    assert (strict.low, strict.high, strict.low_open, strict.high_open) == (1.0, 1.0, False, False)


def test_a_map_that_falls_to_its_edge_says_so():
    given = _given(np.add.outer(np.arange(5.0), np.arange(5.0)))
    assert best_damping(given).at_edge
    said = maps_meaning({"road": given}, measure="grip_lost", cost=0.5, ratio=1.0)
    assert "better still beyond" in said


def test_what_is_said_of_smoother_roads_is_computed():
    k = np.arange(-3.0, 4.0)
    bump, rebound = np.meshgrid(k, k, indexing="ij")
    shape = np.abs(bump + rebound) + np.abs(rebound - bump)

    def said(costs):
        maps = {f"class {name} road": _given(scale * shape, name) for name, scale in costs.items()}
        return maps_meaning(maps, measure="grip_lost", cost=1.0, ratio=1.0)

    assert "The smoother the road, the wider the range" in said({"A": 0.5, "B": 1.0})
    assert "does not hold for this car here" in said({"A": 1.0, "B": 0.5})
    assert "as wide on every one" in said({"A": 1.0, "B": 1.0})
    assert "smoother" not in said({"B": 1.0})


def test_load_variation_on_a_smoother_road_is_the_same_map_scaled(car_with):
    """A linear car on a road of half the height: half the variation at every point, so a wider good range."""
    car = car_with({})
    maps = {
        name: damper_map(car, RoughRoad(road_class=name, duration=3.0), axle="front", size=5)
        for name in ("A", "B")
    }
    # The rolling wheel's bridging is all that is not linear: 0.2 % of the path.
    assert_allclose(maps["B"].load_variation, 2.0 * maps["A"].load_variation, rtol=5e-3)
    ranges = [good_ratios(maps[name], cost=0.003, measure="load_variation").width for name in ("B", "A")]
    assert ranges[1] > ranges[0]
