"""A car written a second time, for what is driven: steady turns and the answer to a steer.

It is written from the equations of docs/conventions.md and the Magic Formula of the book; nothing of
`fourpatch.physics` is in it, nor of the flat vector that the kernels read. Its data are a car's parameters, a
compact tyre's coefficients and the engine's torque over wheel speed; scipy solves and integrates.

A steady turn has 16 unknowns and no lag: seven heights and angles, speed, sideslip and yaw rate, four slips,
the engine's torque and the steer. In it are gravity in roll, jacking by links that change with travel, slip
angles of patches that move with the yaw, steer and toe that turn the tyres' forces, drive force, the drag of
the tyres, the load that a lifted wheel leaves to the others, differentials that are open, locked or slip.

Of one thing there is no second way: how long a clutch takes to stop a creep, a choice of the model.

Source of the tyre: H. B. Pacejka, Tyre and Vehicle Dynamics, 2nd ed. 2006, equations 4.E1 to 4.E67 (from
memory).
"""

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.optimize import root

from fourpatch.car.car import Car
from fourpatch.car.engine_curve import engine_table
from fourpatch.car.parameters import (
    Axle,
    Differential,
    LockedDifferential,
    PlateDifferential,
    TorqueBiasingDifferential,
    TwoSlopeDamper,
    Tyre,
    ViscousDifferential,
)
from fourpatch.car.tyre_coefficients import compact_coefficients

Vector = NDArray[np.float64]

G = 9.81
LEFT = np.array([1.0, -1.0, 1.0, -1.0])
AHEAD = np.array([1.0, 1.0, 0.0, 0.0])
LEAP = 1.0  # m/s^2, from one turn to the next


# Tyre


def tyre_set(tyre: Tyre) -> dict[str, float]:
    """Coefficients of a compact tyre and what its pressure and temperature scale."""
    hot, pressure = tyre.temperature - tyre.best_temperature, tyre.pressure
    friction = 1.0 - tyre.friction_loss_per_pressure * (pressure / tyre.best_pressure - 1.0) ** 2
    friction *= 1.0 - 0.1 * (hot / tyre.friction_loss_width) ** 2
    stiffness = 1.0 + tyre.stiffness_per_pressure * (pressure / tyre.reference_pressure - 1.0)
    stiffness *= 1.0 + tyre.stiffness_per_temperature * hot
    return compact_coefficients(tyre.grip) | {"friction": friction, "stiffness": stiffness}


def magic_formula(p: dict[str, Any], Fz: Vector, kappa: Vector, tan_a: Vector, gamma: Vector) -> Any:
    """Fx and Fy of left-hand tyres in combined slip, of those coefficients that a compact tyre has."""
    load = np.maximum(Fz, 1e-6)  # stiffness is divided by, load is multiplied with in the end
    dfz, lean = load / p["Fz0"] - 1.0, np.sin(gamma)
    upright = 1.0 + p["pDx3"] * lean**2, 1.0 + p["pDy3"] * lean**2
    D_x = p["friction"] * (p["pDx1"] + p["pDx2"] * dfz) / upright[0] * load
    D_y = p["friction"] * (p["pDy1"] + p["pDy2"] * dfz) / upright[1] * load
    K_x = p["stiffness"] * p["pKx1"] * load
    K_y = p["stiffness"] * p["pKy1"] * p["Fz0"] * np.sin(p["pKy4"] * np.arctan(load / p["pKy2"] / p["Fz0"]))
    V = p["friction"] * p["pVy3"] * lean * load
    slip = tan_a + (p["pKy6"] * lean * load - V) / K_y

    def sine(D: Vector, C: Vector, K: Vector, E: Vector, x: Vector) -> Vector:
        x = K / (C * D) * x
        return np.asarray(D * np.sin(C * np.arctan(x - E * (x - np.arctan(x)))))

    Fx = sine(D_x, p["pCx1"], K_x, p["pEx1"], kappa)
    Fy = sine(D_y, p["pCy1"], K_y, p["pEy1"], slip) + V
    G_x = np.cos(p["rCx1"] * np.arctan(p["rBx1"] * np.cos(np.arctan(p["rBx2"] * kappa)) * tan_a))
    G_y = np.cos(p["rCy1"] * np.arctan(p["rBy1"] * np.cos(np.arctan(p["rBy2"] * tan_a)) * kappa))
    return np.where(Fz > 0.0, (G_x * Fx, G_y * Fy), 0.0)


# Car


def each(car: Car, of: Callable[[Axle], float]) -> Vector:
    """A number of every wheel from its axle."""
    return np.array([of(car.front), of(car.front), of(car.rear), of(car.rear)])


class Curve(NamedTuple):
    """Quadratics of the four wheels' travel from design height."""

    value: Vector
    slope: Vector
    curvature: Vector

    def at(self, s: Vector) -> Vector:
        return self.value + s * (self.slope + s * self.curvature)

    def area(self, s: Vector) -> Vector:
        return s * (self.value + s * (self.slope / 2.0 + s * self.curvature / 3.0))


def clutch(gear: Differential, torque: float) -> float:
    """Largest difference of output torques that a differential holds."""
    if isinstance(gear, LockedDifferential):
        return float("inf")
    if isinstance(gear, PlateDifferential):
        return gear.preload + abs(torque) * (gear.power_lock if torque > 0.0 else gear.coast_lock)
    if isinstance(gear, TorqueBiasingDifferential):  # the larger output is that ratio times the smaller
        return gear.preload + abs(torque) * (gear.bias_ratio - 1.0) / (gear.bias_ratio + 1.0)
    return 0.0


class Contact(NamedTuple):
    """What the road does to the car at an instant, and what follows."""

    load: Vector
    along: Vector
    """In the wheel's direction."""
    forward: Vector
    """In the car's axes."""
    sideways: Vector
    drag: float
    acceleration: Vector
    """What tyres and air do per mass, in the car's plane."""
    moment: float
    """About the vertical axis."""
    upward: Vector
    """Sum of vertical forces or moments on body, in heave, roll and pitch, and on the four wheels."""


class SecondCar:
    """A car's equations, a second time. q: heave, roll, pitch, four wheels up; planar: v_x, v_y, yaw rate."""

    def __init__(self, car: Car) -> None:
        self.car = car
        self._masses(car)
        self._links(car)
        self._springs(car)
        sets = [tyre_set(axle.tyre) for axle in (car.front, car.rear)]
        self.tyre = {name: np.repeat([s[name] for s in sets], 2) for name in sets[0]}
        self.radius = each(car, lambda a: a.tyre.radius)
        self.relaxation = (
            each(car, lambda a: a.tyre.relaxation_length_longitudinal),
            each(car, lambda a: a.tyre.relaxation_length_lateral),
        )
        share = car.driveline.front_drive_share
        self.drive_share = np.array([share, 1.0 - share])
        more = each(car, lambda a: a.tyre.pressure / a.tyre.reference_pressure - 1.0)
        self.tyre_rate = each(car, lambda a: a.tyre.vertical_rate)
        self.tyre_rate *= 1.0 + each(car, lambda a: a.tyre.rate_per_pressure) * more
        self.sink = self.static_load / self.tyre_rate
        self.tyre_damping = each(car, lambda a: a.tyre.vertical_damping)
        self.spin_inertia = each(car, lambda a: a.wheel_spin_inertia)

    def _masses(self, car: Car) -> None:
        c, fuel, L = car.chassis, car.fuel, car.chassis.wheelbase
        self.wheel_mass = each(car, lambda a: a.unsprung_mass)
        self.wheel_height = each(car, lambda a: a.unsprung_cg_height)
        self.track = each(car, lambda a: a.track_width)
        self.total = c.mass + fuel.mass
        self.sprung = self.total - self.wheel_mass.sum()
        self.static_travel = each(car, lambda a: a.design_ride_height - a.ride_height)
        wheel_x = np.array([0.0, 0.0, -L, -L])  # from the front axle
        tank = np.array([-fuel.distance_behind_front_axle, 0.0, fuel.height])
        dry = np.array([-(1.0 - c.front_weight_share) * L, c.cg_lateral_offset, c.cg_height])
        whole = (c.mass * dry + fuel.mass * tank) / self.total
        wheels = np.array([self.wheel_mass @ wheel_x, 0.0, self.wheel_mass @ self.wheel_height])
        body = (self.total * whole - wheels) / self.sprung
        rise = np.interp(-body[0], [0.0, L], -self.static_travel[[0, 2]])  # of the body over design height
        body[2] += rise
        self.height, self.body_height = whole[2] + rise * self.sprung / self.total, body[2]
        self.place = np.array([wheel_x - whole[0], LEFT * self.track / 2.0 - whole[1]])
        self.body_place = np.array([wheel_x - body[0], LEFT * self.track / 2.0 - body[1]])
        both = c.mass * fuel.mass / self.total
        apart = (tank - dry) ** 2
        self.roll_inertia = c.roll_inertia + both * apart[2]
        self.pitch_inertia = c.pitch_inertia + both * (apart[2] + apart[0])
        self.yaw_inertia = c.yaw_inertia + both * apart[0]
        weight = self.total * G
        balance = np.array([np.ones(4), self.place[0], self.place[1], [0.0, 1.0, 1.0, 0.0]])
        self.static_load = np.linalg.solve(balance, [weight, 0.0, 0.0, c.cross_weight_share * weight])

    def _links(self, car: Car) -> None:
        def curve(name: str) -> Curve:
            parts = [
                each(car, lambda a, part=part: getattr(getattr(a.geometry, name), part, 0.0))
                for part in Curve._fields
            ]
            return Curve(*parts)

        self.spring_ratio, self.damper_ratio = curve("spring_motion_ratio"), curve("damper_motion_ratio")
        self.roll_centre, self.support = curve("roll_centre_height"), curve("driving_support")
        self.camber_change, self.toe_change = curve("camber_change"), curve("bump_steer")
        axis = self.roll_centre.at(self.static_travel)
        between = (self.body_place[0, 0] / car.chassis.wheelbase) * (axis[2] - axis[0])
        self.roll_arm = self.body_height - axis[0] - between

    # Vertical forces; s: travel from design height

    def _springs(self, car: Car) -> None:
        """Main and helper spring, how far they are pressed together at rest, and the stops."""
        rate, helper = each(car, lambda a: a.spring.rate), each(car, lambda a: a.spring.helper_rate)
        both = rate * helper / np.maximum(rate + helper, 1.0)
        self.spring_rate, self.open_rate = rate, np.where(helper > 0.0, both, rate)
        self.closed = np.where(helper > 0.0, each(car, lambda a: a.spring.helper_block_force), 0.0)
        self.bump_stop = {
            name: each(car, lambda a, name=name: getattr(a.bump_stop, name))
            for name in ("motion_ratio", "gap", "rate", "progression")
        }
        self.droop_stop = {
            name: each(car, lambda a, name=name: getattr(a.droop_stop, name))
            for name in ("motion_ratio", "gap", "rate")
        }
        rest = self.static_travel
        heave = each(car, lambda a: a.heave.preload * a.heave.motion_ratio) / 2.0
        carried = self.static_load - self.wheel_mass * G - self._stops(rest) - heave
        force = carried / self.spring_ratio.at(rest)
        self.pressed = np.minimum(force, self.closed) / self.open_rate
        self.pressed += np.maximum(force - self.closed, 0.0) / rate

    def _stops(self, s: Vector) -> Vector:
        bump, droop = self.bump_stop, self.droop_stop
        into = np.maximum(bump["motion_ratio"] * s - bump["gap"], 0.0)
        out = np.maximum(-droop["motion_ratio"] * s - droop["gap"], 0.0)
        held = bump["motion_ratio"] * into * (bump["rate"] + into * bump["progression"])
        return np.asarray(held - droop["motion_ratio"] * droop["rate"] * out)

    def suspension(self, s: Vector, speed: Vector) -> Vector:
        """Spring, stops, bar, heave element and damper between body and wheel, at the wheel."""
        pressed = self.pressed + self.spring_ratio.area(s) - self.spring_ratio.area(self.static_travel)
        until_closed = self.closed / self.open_rate
        spring = self.open_rate * np.clip(pressed, 0.0, until_closed)
        spring += self.spring_rate * np.maximum(pressed - until_closed, 0.0)
        force = spring * self.spring_ratio.at(s) + self._stops(s)
        for axle, at in ((self.car.front, slice(0, 2)), (self.car.rear, slice(2, 4))):
            force[at] += axle.bar.rate * axle.bar.motion_ratio**2 * (s[at] - s[at][::-1])
            heave, ratio = axle.heave, axle.heave.motion_ratio
            pushed = heave.preload + heave.rate * (
                ratio * (s[at] - self.static_travel[at]).mean() - heave.gap
            )
            element = ratio * speed[at].mean()
            damping = heave.bump * max(element, 0.0) + heave.rebound * min(element, 0.0)
            force[at] += ratio * (max(pushed, 0.0) + damping) / 2.0
            for k in range(at.start, at.stop):
                force[k] += self._damper(axle, k, s, speed)
        return force

    def _damper(self, axle: Axle, k: int, s: Vector, speed: Vector) -> float:
        ratio = self.damper_ratio.at(s)[k]
        v, damper = ratio * speed[k], axle.damper
        if isinstance(damper, TwoSlopeDamper):
            side = damper.bump if v > 0.0 else damper.rebound
            size = side.low_speed * min(abs(v), side.knee_speed)
            size += side.high_speed * max(abs(v) - side.knee_speed, 0.0)
        else:
            measured = damper.bump_force if v > 0.0 else damper.rebound_force
            assert abs(v) < damper.speed[-1]
            size = np.interp(abs(v), [0.0, *damper.speed], [0.0, *measured])
        return float(ratio * (np.copysign(size, v) + damper.friction * v / np.hypot(v, 5e-3)))

    # The whole

    def travel(self, q: Vector) -> Vector:
        x, y = self.body_place
        return np.asarray(q[3:] - (q[0] - x * q[2] + y * q[1]))

    def lift(self, s: Vector) -> tuple[Vector, Vector]:
        """Force on the body per side force and per drive force of a wheel."""
        return -LEFT * 2.0 * self.roll_centre.at(s) / self.track, (1.0 - 2.0 * AHEAD) * self.support.at(s)

    def wheel_angles(self, q: Vector, steer: float) -> tuple[Vector, Vector]:
        """Steer angle and inclination of each wheel."""
        car, s, rest = self.car, self.static_travel + self.travel(q), self.static_travel
        toe = each(car, lambda a: a.toe) + self.toe_change.at(s) - self.toe_change.at(rest)
        camber = each(car, lambda a: a.camber) + self.camber_change.at(s) - self.camber_change.at(rest)
        to_centre = LEFT * self.track / 2.0 / car.chassis.wheelbase * car.steering.ackermann_share * steer**2
        turned = AHEAD * (steer + to_centre) - LEFT * toe
        return turned, q[1] - LEFT * camber - AHEAD * car.steering.caster * steer

    def rolling(self, q: Vector, rate: Vector, planar: Vector, steer: float) -> tuple[Vector, Vector]:
        """Velocity of each contact patch along and across its wheel."""
        s, speed = self.static_travel + self.travel(q), self.travel(rate)
        part = self.sprung / self.total
        sideways, lengthways = self.lift(s)
        v_x, v_y, r = planar
        u = v_x - self.place[1] * r - self.height * rate[2] - part * lengthways * speed
        v = v_y + self.place[0] * r + part * (self.body_height * rate[1] - sideways * speed)
        turned = self.wheel_angles(q, steer)[0]
        return u * np.cos(turned) + v * np.sin(turned), v * np.cos(turned) - u * np.sin(turned)

    def air(self, q: Vector, planar: Vector) -> tuple[float, float, float]:
        """Downforce in front and behind, drag along the car."""
        aero, front, rear = self.car.aero, self.car.front, self.car.rear
        x = self.body_place[0]
        m = aero.map
        f = np.clip(front.ride_height + q[0] - x[0] * q[2], m.lowest_front_height, m.highest_front_height)
        r = np.clip(rear.ride_height + q[0] - x[2] * q[2], m.lowest_rear_height, m.highest_rear_height)
        f, r = f - m.reference_front_height, r - m.reference_rear_height
        terms = np.array([1.0, f, r, f * f, f * r, r * r])
        areas = []
        for name in ("front_downforce", "rear_downforce", "drag"):
            surface = getattr(m, name)
            per_angle = f"{name}_area_per_angle"
            wings = sum(w.angle * getattr(w, per_angle) for w in (aero.front_wing, aero.rear_wing))
            row = [surface.constant + wings, surface.f, surface.r, surface.ff, surface.fr, surface.rr]
            areas.append(float(np.dot(row, terms)))
        pressure = aero.air_density / 2.0 * (planar[0] ** 2 + planar[1] ** 2)
        backwards = planar[0] / np.hypot(planar[0], planar[1])
        return pressure * areas[0], pressure * areas[1], pressure * areas[2] * backwards

    def contact(
        self, q: Vector, rate: Vector, planar: Vector, steer: float, slip: Vector, tan_a: Vector
    ) -> Contact:
        s, speed = self.static_travel + self.travel(q), self.travel(rate)
        deep = np.maximum(self.sink - q[3:], 0.0)
        damping = self.tyre_damping * np.minimum(deep / 1e-3, 1.0)
        load = np.maximum(self.tyre_rate * deep - damping * rate[3:], 0.0)
        turned, lean = self.wheel_angles(q, steer)
        along, across = magic_formula(self.tyre, load, slip, LEFT * tan_a, LEFT * lean)
        across = LEFT * across
        forward = along * np.cos(turned) - across * np.sin(turned)
        sideways = along * np.sin(turned) + across * np.cos(turned)
        front, rear, drag = self.air(q, planar)
        a = np.array([forward.sum() - drag, sideways.sum()]) / self.total
        to_side, to_front = self.lift(s)
        links = to_side * (sideways - self.wheel_mass * a[1]) + to_front * (forward - self.wheel_mass * a[0])
        held = self.suspension(s, speed) + links
        # An axle's wheels have their own moment across it; in a left turn their left tyre is relieved.
        couple = -LEFT * 2.0 * self.wheel_mass * self.wheel_height / self.track * a[1]
        x, y = self.body_place
        upward = np.empty(7)
        upward[0] = held.sum() - front - rear - self.sprung * G
        upward[1] = (y * held).sum() + self.sprung * (self.body_height * a[1] + G * self.roll_arm * q[1])
        # About the road: drag at its height, body and wheels at theirs.
        upward[2] = x[0] * front + x[2] * rear - (x * held).sum() - self.car.aero.drag_height * drag
        upward[2] -= (self.sprung * self.body_height + (self.wheel_mass * self.wheel_height).sum()) * a[0]
        upward[3:] = load - held - self.wheel_mass * G - couple
        moment = (self.place[0] * sideways - self.place[1] * forward).sum()
        return Contact(load, along, forward, sideways, drag, a, float(moment), upward)

    def wheel_torques(self, engine: float, spin: Vector, along: Vector, firm: float) -> Vector:
        """Torque left over on each wheel; a clutch holds with ``firm`` per difference of spin."""
        left_over = np.empty(4)
        line = self.car.driveline
        for k, gear in ((0, line.front_differential), (2, line.rear_differential)):
            torque = engine * self.drive_share[k // 2]
            tyres = self.radius[k : k + 2] * along[k : k + 2]
            faster = spin[k] - spin[k + 1]
            most = clutch(gear, torque)
            lock = np.clip(firm * faster - tyres[0] + tyres[1], -most, most)
            if isinstance(gear, ViscousDifferential):
                lock = gear.rate * faster
            left_over[k : k + 2] = torque / 2.0 + np.array([-lock, lock]) / 2.0 - tyres
        return left_over

    # Steady turns

    def steady(self, lateral: float, radius: float | None, speed: float | None = None) -> "SteadyState":
        """Walk from straight running to a lateral acceleration, speed held; then hold a radius."""
        held = speed or float(np.sqrt(abs(lateral) * (radius or 0.0)))
        guess = np.zeros(16)
        guess[7] = held
        for a in np.linspace(0.0, lateral, 2 + int(abs(lateral) / LEAP)):
            guess = balanced(lambda u, a=a: self._unbalanced(u, a, held, None), guess)
        if radius is not None:
            guess = balanced(lambda u: self._unbalanced(u, lateral, held, radius), guess)
        return SteadyState(self, guess)

    def _unbalanced(self, u: Vector, lateral: float, speed: float, radius: float | None) -> Vector:
        state = SteadyState(self, u)
        road, (v_x, v_y, r) = state.contact, state.planar
        torques = self.wheel_torques(state.engine, state.spin, road.along, firm=1e3)
        # A wheel in the air that nothing turns rolls with the road.
        free = (road.load == 0.0) & (torques == 0.0)
        torques = np.where(free, 1e2 * state.slip, torques)
        planar = [
            road.acceleration[0] + r * v_y,
            road.acceleration[1] - r * v_x,
            road.moment / self.yaw_inertia,
        ]
        along = np.hypot(v_x, v_y)
        held = along - speed if radius is None else along - abs(radius * r)
        return np.array([*road.upward / 1e4, *planar, *torques / 1e3, held, v_x * r - lateral])

    # Driving

    def answer(self, start: "SteadyState", steer: Callable[[float], float], times: Vector) -> Vector:
        """States at the times, (times, 29): q, its rate, planar, spins, lagged slips and slip angles."""
        spacing = 0.5
        table = engine_table(self.car, fastest=420.0, spacing=spacing)
        opened, closed = self._pull(table, spacing, start.spin)
        throttle = (start.engine - closed) / (opened - closed)
        state = np.array(
            [*start.q, *np.zeros(7), *start.planar, *start.spin, *start.slip, *start.tan_slip_angle]
        )

        def rates(t: float, state: Vector) -> Vector:
            opened, closed = self._pull(table, spacing, state[17:21])
            return self._rates(state, start.steer + steer(t), closed + throttle * (opened - closed))

        rows = []
        for begin, end in zip([0.0, *times[:-1]], times, strict=True):
            found = solve_ivp(rates, (begin, end), state, method="LSODA", rtol=1e-7, atol=1e-9)
            assert found.success, found.message
            state = found.y[:, -1]
            rows.append(state)
        return np.array(rows)

    def _pull(self, table: Vector, spacing: float, spin: Vector) -> Vector:
        mean = np.dot(self.drive_share, [spin[:2].mean(), spin[2:].mean()])
        knots = spacing * np.arange(len(table))
        return np.array([np.interp(mean, knots, column) for column in table.T])

    def _rates(self, state: Vector, steer: float, engine: float) -> Vector:
        q, rate, planar, spin, slip, tan_a = np.split(state, [7, 14, 17, 21, 25])
        road = self.contact(q, rate, planar, steer, slip, tan_a)
        inertia = self.spin_inertia
        u, v = self.rolling(q, rate, planar, steer)
        # The clutch lets a creep die within 2 ms.
        torques = self.wheel_torques(engine, spin, road.along, 500.0 * inertia.min())
        v_x, v_y, r = planar
        return np.concatenate(
            [
                rate,
                road.upward / [self.sprung, self.roll_inertia, self.pitch_inertia, *self.wheel_mass],
                [
                    road.acceleration[0] + r * v_y,
                    road.acceleration[1] - r * v_x,
                    road.moment / self.yaw_inertia,
                ],
                torques / inertia,
                (spin * self.radius - u - u * slip) / self.relaxation[0],
                (v - u * tan_a) / self.relaxation[1],
            ]
        )


def balanced(unbalanced: Callable[[Vector], Vector], guess: Vector) -> Vector:
    """Unknowns that leave nothing over; moved by 1, for MINPACK's differences are relative."""
    found = root(lambda u: unbalanced(u - 1.0), guess + 1.0, tol=1e-13)
    assert np.abs(found.fun).max() < 1e-9, found.message
    return np.asarray(found.x - 1.0)


class SteadyState:
    """Sixteen numbers, and all that follows from them."""

    def __init__(self, car: SecondCar, u: Vector) -> None:
        self.q, self.planar, self.slip = u[:7], u[7:10], u[10:14]
        self.engine, self.steer = 1e3 * u[14], u[15]
        still = np.zeros(7)
        along, across = car.rolling(self.q, still, self.planar, self.steer)
        self.spin = along * (1.0 + self.slip) / car.radius
        self.tan_slip_angle = across / along
        self.contact = car.contact(self.q, still, self.planar, self.steer, self.slip, self.tan_slip_angle)
