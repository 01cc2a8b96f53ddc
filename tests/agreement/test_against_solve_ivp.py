"""The fixed-step integrator against scipy's DOP853 on the same compiled right-hand side."""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from numpy.testing import assert_allclose
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicSpline

from fourpatch.car.car import Car
from fourpatch.car.pack import pack
from fourpatch.events.drive import made_ready, run_drive
from fourpatch.events.drive_inputs import DriveControls, Engines
from fourpatch.events.drive_start import DriveStart, drive_instant, settle_drive
from fourpatch.events.kerb_strike import KerbStrike
from fourpatch.events.motion import half_steps, ramp
from fourpatch.events.run import rig_instant, run_rig, settle
from fourpatch.events.steady_states import without_slips
from fourpatch.physics.integrate import History
from fourpatch.physics.layout import CORNER_BASE, N_CORNER, C, I, X
from fourpatch.track.contact_filter import tyre_path
from fourpatch.track.kerb import Side, kerbed_straight

Array = NDArray[np.float64]

TOLERANCES = {"method": "DOP853", "rtol": 1e-9, "atol": 1e-11}


def static_loads(vector: Array) -> Array:
    blocks = [vector[CORNER_BASE + k * N_CORNER : CORNER_BASE + (k + 1) * N_CORNER] for k in range(4)]
    return np.array([block[C.tyre_rate] * block[C.tyre_static_deflection] for block in blocks])


# The rig over a kerb that throws the wheels off the ground

KERB = KerbStrike(speed=25.0, shape="half-sine", height=0.06, length=0.8, side="left", recovery=0.5)


def kerb_roads(car: Car) -> list[CubicSpline]:
    """What each wheel feels against time of the front axle's way, as the event lays it."""
    start = 0.1 * KERB.speed + 0.5
    profile = kerbed_straight(
        kerb=KERB.kerb(), start=start, side=Side.LEFT, length=start + KERB.length + 2.0, spacing=0.01
    )
    roads = []
    for corner, axle in enumerate((car.front, car.front, car.rear, car.rear)):
        side = profile.left if corner % 2 == 0 else profile.right
        tyre = axle.tyre
        felt = tyre_path(side, 0.01, contact_length=tyre.contact_length, tyre_radius=tyre.radius)
        roads.append(CubicSpline(profile.distance, felt))
    return roads


def exact_kerb(car: Car, vector: Array, still: Array, start: Array, instants: Array) -> Array:
    """Tyre loads over the kerb at the instants, (n, 4)."""
    roads, behind = kerb_roads(car), np.array([0.0, 0.0, 1.0, 1.0]) * car.chassis.wheelbase
    ends = np.array([road.x[-1] for road in roads])

    def inputs_at(time: float) -> Array:
        row = still.copy()
        way = KERB.speed * time - behind
        inside = np.clip(way, 0.0, ends)
        for corner, road in enumerate(roads):
            row[I.road + corner] = road(inside[corner])
            row[I.road_speed + corner] = (
                road(inside[corner], 1) * KERB.speed * (inside[corner] == way[corner])
            )
        return row

    def rates(time: float, state: Array) -> Array:
        return rig_instant(vector[None], state[None], inputs_at(time)).rates[0, 0]

    # No step may jump over the kerb.
    found = solve_ivp(rates, (0.0, instants[-1]), start, t_eval=instants, max_step=2e-3, **TOLERANCES)
    return np.array(
        [
            rig_instant(vector[None], state[None], inputs_at(time)).outputs[0, 0, :4]
            for time, state in zip(instants, found.y.T, strict=True)
        ]
    )


def test_rig_over_a_kerb_with_wheels_off_the_ground(full_car: Car) -> None:
    # What slips push along and across on a straight the rig holds from the start, also where loads change.
    vector = without_slips(pack(full_car)[None])[0]
    coarse, fine = (KERB.motion(full_car, step) for step in (1e-3, 0.5e-3))
    still = coarse.inputs[0]
    start = settle(vector[None], still, name="kerb")[0]
    ours = [run_rig(vector[None], motion).outputs[0, :, :4] for motion in (coarse, fine)]
    instants = np.arange(ours[0].shape[0]) * 1e-3
    exact = exact_kerb(full_car, vector, still, start, instants)
    assert np.max(np.sum(exact <= 0.0, axis=0)) > 20  # some wheel flies for more than 20 ms
    errors = [
        np.sqrt(np.mean((loads[: exact.shape[0]] - exact) ** 2, axis=0)) / static_loads(vector)
        for loads in ours
    ]
    # The gate: half a percent of static load. Measured 0.007 %.
    assert np.max(errors[0]) < 0.005
    # Lift-off, touch-down, damper knees and stops are kinks: the order falls from 4 to about 2.
    assert np.max(errors[1]) < 0.5 * np.max(errors[0])


# The drive, braking into a turn


def brake_and_turn(step: float, end: float = 2.0) -> DriveControls:
    time = half_steps(end, step)
    return DriveControls(
        name="brake and turn", step=step, store_every=max(1, round(4e-3 / step)), **_pedals(time)
    )


def _pedals(time: Array) -> dict[str, Array]:
    """Smooth: half-cosine ramps."""
    pressed, turned = ramp(time, start=0.2, duration=0.4), ramp(time, start=0.6, duration=0.6)
    released = ramp(time, start=0.9, duration=0.8)
    return {
        "steer": 0.03 * turned,
        "throttle": np.zeros(time.size),
        "brake": 0.35 * pressed * (1.0 - 0.8 * released),
        "holding": 1.0 - pressed,
    }


def exact_drive(vector: Array, engines: Engines, start: DriveStart, instants: Array) -> tuple[Array, Array]:
    """States and tyre loads of the drive at the instants."""
    drivers = np.array([[start.steer[0], 1.0, start.throttle[0]]])

    def instant(time: float, state: Array) -> History:
        pedals = _pedals(np.array([time]))
        row = np.column_stack([pedals[name] for name in ("steer", "throttle", "brake", "holding")])
        return drive_instant(vector[None], state[None], engines, drivers, row)

    def rates(time: float, state: Array) -> Array:
        return instant(time, state).rates[0, 0]

    found = solve_ivp(rates, (0.0, instants[-1]), start.states[0], t_eval=instants, **TOLERANCES)
    loads = [instant(time, state).outputs[0, 0, :4] for time, state in zip(instants, found.y.T, strict=True)]
    return found.y.T, np.array(loads)


def _runs(car: Car, steps: tuple[float, ...]) -> tuple[Array, list[Array], list[Array], Array, Array]:
    driven = made_ready([car])
    start = settle_drive(driven.parameters, driven.engines, speed=35.0)
    histories = [run_drive(driven.parameters, driven.engines, brake_and_turn(step), start) for step in steps]
    instants = np.arange(histories[0].states.shape[1]) * 4e-3
    states, loads = exact_drive(driven.parameters[0], driven.engines, start, instants)
    return (
        static_loads(driven.parameters[0]),
        [history.states[0] for history in histories],
        [history.outputs[0, :, :4] for history in histories],
        states,
        loads,
    )


def test_drive_braking_into_a_turn(full_car: Car) -> None:
    static, ours, loads, exact, exact_loads = _runs(full_car, (1e-3,))
    error = np.sqrt(np.mean((loads[0] - exact_loads) ** 2, axis=0)) / static
    # The gate: half a percent of static load. Measured 1e-7.
    assert np.max(error) < 0.005
    place = np.abs(ours[0][:, [X.distance, X.offset]] - exact[:, [X.distance, X.offset]])
    assert np.max(place) < 1e-4  # m, of 60 m


def test_order_of_convergence_where_nothing_has_a_kink(
    car_with: Callable[[Mapping[str, Any]], Car],
) -> None:
    # Engine braking jumps from gear to gear: this car has none. Long steps keep the error, 6e-9 and 4e-10 of
    # the static load, above that of the reference, 4e-11.
    static, _, loads, _, exact = _runs(car_with({"driveline.overrun_torque": 0.0}), (4e-3, 2e-3))
    coarse, fine = (np.max(np.sqrt(np.mean((one - exact) ** 2, axis=0)) / static) for one in loads)
    assert_allclose(np.log2(coarse / fine), 4.0, rtol=0.0, atol=0.2)
