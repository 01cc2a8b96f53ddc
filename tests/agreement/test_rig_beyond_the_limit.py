"""Asked for more than there is, the rig has one answer: it comes and goes as the motion does.

And a corner that is driven has one balance in each phase, when the rig is put through the same motion.
"""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from fourpatch.advice.driven_corner import driven_corner
from fourpatch.advice.rig_beside import rig_beside
from fourpatch.analysis.axle_use import axle_use
from fourpatch.analysis.standard_events import standard_corners
from fourpatch.car.demo import demo_car, demo_names
from fourpatch.car.pack import pack
from fourpatch.events.motion import RigMotion, half_steps, planar_inputs, ramp
from fourpatch.events.run import run_rig, stable_step
from fourpatch.physics.layout import O


@pytest.mark.parametrize("name", demo_names())
def test_what_was_asked_before_leaves_no_trace(name: str) -> None:
    car = demo_car(name)
    vector = pack(car)[None]
    step = stable_step(vector)
    time = half_steps(8.0, step)
    found = []
    across = 7.0 * ramp(time, start=0.2, duration=0.8)
    for most in (0.0, -16.0):  # within grip, and braking beyond all of it for half a second
        along = most * (ramp(time, start=2.0, duration=0.3) - ramp(time, start=2.8, duration=0.3))
        inputs = planar_inputs(
            car,
            time,
            speed=np.full(time.size, 35.0),
            longitudinal_acceleration=along,
            lateral_acceleration=across,
            curvature=across / 35.0**2,
        )
        motion = RigMotion(name="turn", step=step, inputs=inputs, store_every=4)
        outputs = run_rig(vector, motion).outputs[:, -200:]
        found.append((axle_use(vector, outputs).balance, outputs[..., O.slip : O.slip + 4]))
    # Five seconds after it the body has come to rest to 1e-6 of what it did.
    assert_allclose(found[1][0], found[0][0], rtol=0.0, atol=1e-3)
    assert_allclose(found[1][1], found[0][1], rtol=0.0, atol=1e-5)


@pytest.mark.parametrize("name", demo_names())
def test_a_driven_corner_has_one_balance_in_each_phase(name: str) -> None:
    car = demo_car(name)
    corner = standard_corners(car)["medium corner"]
    found = rig_beside(car, driven_corner(car, corner, "medium corner"))
    apart = {phase: abs(both.rig - both.drive) for phase, both in found.items()}
    # The rig's tyres do not lag and its wheels' spin follows the car's speed: that is for braking and turning
    # in, in tenths of a second, the more the less it is that is braked for; docs/rig-and-drive.md has more
    # cars and corners.
    assert apart["mid"] < 0.1
    assert apart["exit"] < 0.2
    assert apart["braking"] < 1.0
    assert apart["entry"] < 2.0
