"""Load transfer in steady cornering and braking, split by the path it takes."""

from math import inf
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.quantity import (
    ANGLE_GRADIENT,
    LENGTH,
    LOAD_GRADIENT,
    RATIO,
    SHARE,
    Axles,
    Findings,
)
from fourpatch.analysis.wheel_rates import axle_means, corner_values, roll_stiffness, tracks
from fourpatch.events.run import rig_instant, settle
from fourpatch.physics.layout import N_INPUT, C, I, O, P, Y

Vector = NDArray[np.float64]

SETTLED_ACCELERATION = 3.0
"""Lateral acceleration at which the engine's load transfer is read, about 0.3 g. [m/s^2]"""


class LateralTransfer(Findings):
    """Steady cornering, per lateral acceleration: T = (F_outer - F_inner) / 2 of each axle."""

    elastic: Annotated[Axles, LOAD_GRADIENT]
    """Through springs and bar."""
    geometric: Annotated[Axles, LOAD_GRADIENT]
    """Through the links, by the roll centre."""
    unsprung: Annotated[Axles, LOAD_GRADIENT]
    """By the axle's own unsprung mass."""
    total: Annotated[Axles, LOAD_GRADIENT]
    """Elastic, geometric and unsprung together."""
    front_share: Annotated[float, SHARE]
    """Front part of the total, on forces, not on moments."""
    roll_gradient: Annotated[float, ANGLE_GRADIENT]
    """Roll of the body against the road, tyres included."""


class LongitudinalTransfer(Findings):
    """Braking and driving: what moves between the axles, and how much of it the links carry."""

    transfer: Annotated[float, LOAD_GRADIENT]
    """Load moved from one axle to the other per longitudinal acceleration, m h / L."""
    anti_dive: Annotated[float, SHARE]
    """Front, brakes alone: (brake share x slope at the ground - wheels' share of the mass x at the wheel
    centre) x L / h."""
    anti_lift_braking: Annotated[float, SHARE]
    """Rear, brakes alone: (rear brake share x slope at the ground - wheels' share of the mass x at the wheel
    centre) x L / h."""
    anti_squat: Annotated[float, SHARE]
    """Rear, driving: (rear drive share - wheels' share of the mass) x slope at the wheel centre x L / h."""
    anti_lift_driving: Annotated[float, SHARE]
    """Front, driving: (front drive share - wheels' share of the mass) x slope at the wheel centre x L / h."""


class Jacking(Findings):
    """Lift on the body per force at one tyre, links at static travel."""

    lateral: Annotated[Axles, RATIO]
    """Per lateral force, 2 x roll-centre height / track: up from the outer tyre, down from the inner."""
    braking: Annotated[Axles, RATIO]
    """Per braking force; up in front is anti-dive, down at the rear (shown positive) is anti-lift."""
    driving: Annotated[Axles, RATIO]
    """Per driving force; up at the rear is anti-squat, down in front (shown positive) is anti-lift."""


class RollGeometry(Findings):
    """Roll centres and the arm of the sprung mass about them."""

    roll_centre_height: Annotated[Axles, LENGTH]
    """Above the road at static travel."""
    roll_axis_arm: Annotated[float, LENGTH]
    """Height of the sprung centre of gravity above the roll axis."""


def cg_height(vector: Vector) -> float:
    """Return the height of the whole car's centre of gravity [m]."""
    sprung = vector[P.sprung_mass] * vector[P.sprung_cg_height]
    return float((sprung + vector[P.unsprung_moment]) / vector[P.total_mass])


def wheelbase(vector: Vector) -> float:
    """Return the distance of the axles [m]."""
    return float(vector[P.cg_to_front] + vector[P.cg_to_rear])


def axle_masses(vector: Vector) -> Axles:
    """Return the mass each axle carries, its own included [kg]."""
    per_length = vector[P.total_mass] / wheelbase(vector)
    return Axles(float(per_length * vector[P.cg_to_rear]), float(per_length * vector[P.cg_to_front]))


def axle_sprung_masses(vector: Vector) -> Axles:
    """Return the sprung mass each axle carries [kg]."""
    unsprung = axle_means(corner_values(vector, C.unsprung_mass))
    return Axles(*(m - 2.0 * u for m, u in zip(axle_masses(vector), unsprung, strict=True)))


def roll_centre_heights(vector: Vector) -> Axles:
    """Return the roll-centre heights at static travel [m]."""
    slopes = corner_values(vector, C.lateral_jack) * np.array([-1.0, 1.0, -1.0, 1.0])
    return Axles(*(0.5 * n * t for n, t in zip(axle_means(slopes), tracks(vector), strict=True)))


def roll_axis_arm(vector: Vector) -> float:
    """Return the height of the sprung centre of gravity above the roll axis [m]."""
    heights, masses = roll_centre_heights(vector), axle_sprung_masses(vector)
    mean = sum(m * h for m, h in zip(masses, heights, strict=True)) / sum(masses)
    return float(vector[P.sprung_cg_height] - mean)


def roll_geometry(vector: Vector) -> RollGeometry:
    """Return roll centres and roll-axis arm of a packed car."""
    return RollGeometry(roll_centre_height=roll_centre_heights(vector), roll_axis_arm=roll_axis_arm(vector))


def roll_gradient_on_rigid_tyres(vector: Vector) -> float:
    """Return roll of the body per lateral acceleration with the tyres held rigid [rad s^2/m].

    Notes
    -----
    m_s d / (K - m_s g d), K the roll stiffness of springs and bars; the second term below the line is the
    packed car's ``gravity_roll_moment``.

    Source: checked against Barton & Fieldhouse, Automotive Chassis Engineering, p. 174 (seen online).
    """
    moment = vector[P.sprung_mass] * roll_axis_arm(vector)
    return float(moment / (sum(roll_stiffness(vector).suspension) - vector[P.gravity_roll_moment]))


def lateral_transfer(vector: Vector) -> LateralTransfer:
    """Return the steady lateral load transfer of a packed car in closed form.

    Notes
    -----
    Per unit of a_y, axle i with suspension roll stiffness K_i on tyres of K_t,i;
    N_i = m_s,i h_rc,i + m_u,i h_u,i is what reaches the tyres past the springs. The tyres tilt the axle by
    theta_i, and T_i t_i = K_t,i theta_i = K_i (phi - theta_i) + N_i; the body:
    sum K_i (phi - theta_i) = m_s d + G phi, G = m_s g d. Hence

      phi = (m_s d + sum s_i N_i) / (sum s_i K_t,i - G),   s_i = K_i / (K_i + K_t,i),
      elastic_i t_i = s_i (K_t,i phi - N_i).

    On rigid tyres this is the textbook's phi = m_s d / (sum K_i - G), elastic_i t_i = K_i phi.
    Left out: what grows with a_y (roll centres that move, springs that stiffen, stops, lift by jacking), in
    `settled_lateral_transfer`; a centre of gravity off the centre plane, of second order in its offset.

    Source: derived here; on rigid tyres as in Gillespie, Fundamentals of Vehicle Dynamics, 1992, chapter 6,
    and Milliken & Milliken, Race Car Vehicle Dynamics, SAE 1995, chapter 18 (both from memory).
    """
    return _lateral_transfer(vector, roll_stiffness(vector).tyres, leaning=vector[P.gravity_roll_moment])


def lateral_transfer_on_rigid_tyres(vector: Vector) -> LateralTransfer:
    """Return the same as the textbook has it: tyres held rigid, the leaning body's weight left out.

    Notes
    -----
    phi = m_s d / sum K_i, elastic_i t_i = K_i phi: what a spreadsheet or a book's example is compared with.
    """
    return _lateral_transfer(vector, Axles(inf, inf), leaning=0.0)


def _lateral_transfer(vector: Vector, tyres: Axles, *, leaning: float) -> LateralTransfer:
    """Return the closed form of `lateral_transfer` for roll stiffnesses of the tyres [N m/rad]."""
    springs, width, sprung = roll_stiffness(vector).suspension, tracks(vector), axle_sprung_masses(vector)
    geometric = [m * h for m, h in zip(sprung, roll_centre_heights(vector), strict=True)]
    couples = corner_values(vector, C.unsprung_couple)
    unsprung = [0.5 * float(couples[k] - couples[k + 1]) * width[k // 2] for k in (0, 2)]
    share = [k / (k + t) for k, t in zip(springs, tyres, strict=True)]
    past = [g + u for g, u in zip(geometric, unsprung, strict=True)]
    moment = vector[P.sprung_mass] * roll_axis_arm(vector)
    moment += sum(s * n for s, n in zip(share, past, strict=True))
    in_series = sum(k * (1.0 - s) for k, s in zip(springs, share, strict=True))
    roll = float(moment / (in_series - leaning))
    elastic = [k * (1.0 - s) * roll - s * n for k, s, n in zip(springs, share, past, strict=True)]

    def on_tyres(moments: list[float]) -> Axles:
        return Axles(*(m / t for m, t in zip(moments, width, strict=True)))

    return _split(on_tyres(elastic), on_tyres(geometric), on_tyres(unsprung), roll_gradient=roll)


def _split(elastic: Axles, geometric: Axles, unsprung: Axles, *, roll_gradient: float) -> LateralTransfer:
    total = Axles(*(sum(parts) for parts in zip(elastic, geometric, unsprung, strict=True)))
    return LateralTransfer(
        elastic=elastic,
        geometric=geometric,
        unsprung=unsprung,
        total=total,
        front_share=total.front / (total.front + total.rear),
        roll_gradient=roll_gradient,
    )


def settled_lateral_transfer(
    vector: Vector, *, lateral_acceleration: float = SETTLED_ACCELERATION
) -> LateralTransfer:
    """Return the steady lateral load transfer of a packed car from the engine, in a left turn without aero.

    Parameters
    ----------
    lateral_acceleration : at which the car settles, above 0; results are divided by it. [m/s^2]

    Raises
    ------
    SolveError
        If the car finds no place to rest.
    """
    straight, turning = np.zeros(N_INPUT), np.zeros(N_INPUT)
    turning[I.lateral_acceleration] = lateral_acceleration
    found = []
    for inputs in (straight, turning):
        state = settle(vector[None], inputs, name="steady corner")
        found.append((state[0], rig_instant(vector[None], state, inputs).outputs[0, 0]))
    change = (found[1][1] - found[0][1]) / lateral_acceleration

    def transfer(slot: int) -> Axles:
        left = change[slot : slot + 4 : 2]
        right = change[slot + 1 : slot + 4 : 2]
        return Axles(*(0.5 * (right - left)).tolist())

    elastic, geometric, total = (transfer(slot) for slot in (O.elastic_force, O.jacking_force, O.tyre_load))
    unsprung = Axles(*(t - e - g for t, e, g in zip(total, elastic, geometric, strict=True)))
    roll = float(found[1][0][Y.roll] - found[0][0][Y.roll]) / lateral_acceleration
    return _split(elastic, geometric, unsprung, roll_gradient=roll)


def jacking(vector: Vector) -> Jacking:
    """Return the jacking coefficients of a packed car at static travel."""
    heights, width = roll_centre_heights(vector), tracks(vector)
    brake, drive = (axle_means(corner_values(vector, slot)) for slot in (C.brake_jack, C.drive_jack))
    return Jacking(
        lateral=Axles(*(2.0 * h / t for h, t in zip(heights, width, strict=True))),
        braking=Axles(-brake.front, brake.rear),
        driving=Axles(-drive.front, drive.rear),
    )


def longitudinal_transfer(vector: Vector) -> LongitudinalTransfer:
    """Return longitudinal load transfer and anti-features of a packed car.

    Notes
    -----
    The transfer follows from mass, height and wheelbase alone. An anti-feature is the share of it that an
    axle's links carry instead of its springs. Of an axle's force F = s m a its wheels' own mass 2 m_u takes a
    part before it reaches the links, at the height of the wheel centre, so with the slope e_d of driving:

      braking (s e_b - e_d 2 m_u / m) L / h,   driving (s - 2 m_u / m) e_d L / h.

    The usual textbook formula is that of weightless wheels, s e L / h; an axle that is not driven carries a
    little against the sense of the feature. Engine braking is left out of the two braking values, and what
    the links carry while brakes and shafts change the wheels' own spin, some per cent.

    Source: as in Gillespie, Fundamentals of Vehicle Dynamics, 1992, chapter 7 (from memory); the wheels' part
    is derived here, from `physics.suspension.jacking_force`.
    """
    length, height, slopes = wheelbase(vector), cg_height(vector), jacking(vector)
    brake, drive = float(vector[P.brake_front_share]), float(vector[P.drive_front_share])
    masses = axle_means(corner_values(vector, C.unsprung_mass))
    front, rear = (2.0 * m / float(vector[P.total_mass]) for m in masses)
    braking, driving = slopes.braking, slopes.driving
    return LongitudinalTransfer(
        transfer=float(vector[P.total_mass]) * height / length,
        anti_dive=(brake * braking.front - front * driving.front) * length / height,
        anti_lift_braking=((1.0 - brake) * braking.rear - rear * driving.rear) * length / height,
        anti_squat=(1.0 - drive - rear) * driving.rear * length / height,
        anti_lift_driving=(drive - front) * driving.front * length / height,
    )
