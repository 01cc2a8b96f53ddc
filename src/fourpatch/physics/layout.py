"""Where every number of one car lies in the kernels' flat workspace.

A workspace holds ``stride`` cars side by side: the number in slot ``k`` of car ``lane`` is
``S[k * stride + lane]``. One flat array with constant strides is what lets the compiler run
several set-ups in the lanes of one vector instruction.

Each ``NamedTuple`` below lists the slots of one block in order; its instance holds their indices,
which numba folds to constants. Corners are ordered FL, FR, RL, RR; axles front, rear. SI units.
"""

from typing import NamedTuple

from fourpatch.physics.tyre import N_TYRE

CORNERS = 4
KNOTS = 6
"""Breakpoints of a damper curve in each direction, beside the slope at rest."""


class ChassisSlots(NamedTuple):
    """Parameters of the body, of the whole car and of the two axles."""

    total_mass: int
    sprung_mass: int
    roll_inertia: int  # sprung mass about its own centre of gravity
    pitch_inertia: int  # the same
    yaw_inertia: int  # whole car
    sprung_cg_height: int
    unsprung_moment: int  # sum of unsprung mass x its height, taken by the body when braking
    gravity: int
    gravity_roll_moment: int  # m_s g d: the body's weight leaning over, per radian of roll
    cg_to_front: int  # whole car
    cg_to_rear: int
    finds_slips: int  # rig: 1 = the tyres' slips are searched, 0 = the car points along its path
    lateral_load_sharing: int  # rig without slips: 0 = an axle's tyres share equally, 1 = by load
    front_bar_rate: int  # at the wheel, per difference of travel
    rear_bar_rate: int
    front_heave_rate: int  # at the wheels' mean travel
    front_heave_preload: int
    front_heave_gap: int
    front_heave_bump: int
    front_heave_rebound: int
    rear_heave_rate: int
    rear_heave_preload: int
    rear_heave_gap: int
    rear_heave_bump: int
    rear_heave_rebound: int
    air_density: int
    drag_height: int
    front_axle_x: int  # from the sprung centre of gravity, forward positive
    rear_axle_x: int
    front_ride_height: int  # static, as set
    rear_ride_height: int
    front_map_height: int  # ride heights about which the aero polynomial is written
    rear_map_height: int
    front_map_low: int  # the map is held at its edge outside these heights
    front_map_high: int
    rear_map_low: int
    rear_map_high: int
    front_downforce: int  # first of six: 1, f, r, f^2, f r, r^2
    front_downforce_f: int
    front_downforce_r: int
    front_downforce_ff: int
    front_downforce_fr: int
    front_downforce_rr: int
    rear_downforce: int
    rear_downforce_f: int
    rear_downforce_r: int
    rear_downforce_ff: int
    rear_downforce_fr: int
    rear_downforce_rr: int
    drag: int
    drag_f: int
    drag_r: int
    drag_ff: int
    drag_fr: int
    drag_rr: int
    brake_torque: int  # whole car, pedal fully pressed
    brake_front_share: int
    drive_front_share: int
    front_lock_preload: int
    front_lock_power: int
    front_lock_coast: int
    front_lock_viscous: int
    rear_lock_preload: int
    rear_lock_power: int
    rear_lock_coast: int
    rear_lock_viscous: int
    lock_stiffness: int  # torque per wheel-speed difference before a lock slips


class CornerSlots(NamedTuple):
    """Parameters of one corner. Curves against travel are quadratics about the static position."""

    x: int  # wheel from the sprung centre of gravity
    y: int
    planar_x: int  # wheel from the centre of gravity of the whole car
    planar_y: int
    unsprung_mass: int
    unsprung_couple: int  # load taken off this tyre per lateral acceleration by the axle's unsprung mass
    spring_rate: int
    spring_static_force: int
    helper_rate: int  # main and helper spring in series
    helper_block_force: int
    spring_ratio: int  # motion ratio and its first two derivatives' coefficients
    spring_ratio_1: int
    spring_ratio_2: int
    damper_ratio: int
    damper_ratio_1: int
    damper_ratio_2: int
    damper_friction: int
    bump_slope: int  # damper force per speed at rest, bump side
    rebound_slope: int
    bump_knots: int  # first of KNOTS speeds, then KNOTS changes of slope
    rebound_knots: int
    stop_gap: int  # bump travel from static to the bump stop
    stop_rate: int
    stop_progression: int
    droop_gap: int  # rebound travel from static to the droop stop
    droop_rate: int
    lateral_jack: int  # lift on the body per lateral tyre force (roll centre)
    lateral_jack_1: int
    lateral_jack_2: int
    drive_jack: int  # lift on the body per longitudinal force at the wheel centre
    drive_jack_1: int
    drive_jack_2: int
    brake_jack: int  # lift on the body per longitudinal force at the ground, brake outboard
    brake_jack_1: int
    brake_jack_2: int
    inclination: int  # ISO 8855, of the wheel against the body
    inclination_1: int
    inclination_2: int
    steer: int  # toe and bump steer as a steer angle
    steer_1: int
    steer_2: int
    steer_share: int
    ackermann: int
    caster: int
    tyre_rate: int
    tyre_damping: int
    tyre_static_deflection: int
    tyre_radius: int
    relaxation_x: int
    relaxation_y: int
    spin_inertia: int


def _corner_indices() -> tuple[CornerSlots, int]:
    """Consecutive indices, with room for the two damper tables."""
    position, indices = 0, []
    for name in CornerSlots._fields:
        indices.append(position)
        position += 2 * KNOTS if name.endswith("_knots") else 1
    return CornerSlots(*indices), position


class InputSlots(NamedTuple):
    """What drives the car at an instant. Rig: the motion. Drive: the driver's controls."""

    speed: int
    longitudinal_acceleration: int
    lateral_acceleration: int
    yaw_acceleration: int
    steer: int  # at the road wheels
    throttle: int  # 0 to 1
    brake: int  # 0 to 1
    path_curvature: int
    engine_torque: int  # at the wheels, whole car
    slope_x: int  # gravity along the road, forward positive, in the car's axes; 0 on the level
    slope_y: int  # across it, to the left
    press: int  # square to the road, beyond the usual gravity: banking, crests and dips
    road: int  # first of four heights
    road_speed: int  # first of four vertical speeds


class RigStates(NamedTuple):
    """Vertical motion; each position is followed, seven slots on, by its rate."""

    heave: int
    roll: int
    pitch: int
    wheel: int  # first of four


class PlanarStates(NamedTuple):
    """What the drive adds: place on the road, planar velocity, wheel spin, lagged slips."""

    distance: int
    offset: int
    heading: int
    forward_velocity: int
    lateral_velocity: int
    yaw_rate: int
    spin: int  # first of four
    slip: int  # first of four: lagged longitudinal slip
    slip_angle: int  # first of four: lagged tangent of slip angle


class OutputSlots(NamedTuple):
    """What the kernels report at an instant; names ending in a corner's word come in fours."""

    tyre_load: int
    elastic_force: int  # at the wheel: spring, stops, bar, heave spring
    damper_force: int  # at the wheel
    jacking_force: int  # through the links
    travel: int
    damper_speed: int  # at the damper, bump positive
    inclination: int
    lateral_force: int
    longitudinal_force: int
    steer: int
    slip: int  # longitudinal
    slip_angle: int  # its tangent, positive where the wheel moves to its left
    heave_acceleration: int
    roll_acceleration: int
    pitch_acceleration: int
    front_downforce: int
    rear_downforce: int
    drag: int
    front_ride_height: int
    rear_ride_height: int
    longitudinal_acceleration: int
    lateral_acceleration: int
    front_drive_force: int  # at the ground, through the half shafts; negative on the overrun
    rear_drive_force: int


class WheelSlots(NamedTuple):
    """What the drive keeps of the four wheels side by side, so that they too can be lanes of a vector."""

    side: int  # 1 left, -1 right: a right-hand tyre is the left-hand one seen in a mirror
    radius: int
    slip_build_up: int  # per rolled distance: 1 / relaxation length
    slip_angle_build_up: int
    forward: int  # velocity of the contact patch over the road, in the body's axes
    sideways: int
    along: int  # tyre force along the wheel


class TallySlots(NamedTuple):
    """What a lap is summed up in while it is driven (`lap_tally`); see `LapSlots` for what is told of it."""

    carry: int  # of the distance: what its last sum rounded away
    gates: int  # passed
    before: int  # distance at the instant before
    slowest: int  # since the last gate
    rear_slip: int  # largest since the last gate
    lap: int  # first of `LapSlots`


class LapSlots(NamedTuple):
    """What is told of a whole lap; names of the last block come in fours, by wheel."""

    sideslip: int  # largest tangent, whichever way
    sideslip_at: int  # distance
    room: int  # least between the side of the car and the edge of the road
    room_at: int  # distance
    load: int  # largest
    off_ground: int  # time without load
    locked: int  # time
    spinning: int  # time
    tyre_work: int  # of sliding


class GateSlots(NamedTuple):
    """What is told of the passage of a gate and of the way since the gate before."""

    time: int
    speed: int
    slowest: int
    rear_slip: int  # largest tangent of slip angle of a rear wheel, whichever way


class AttitudeSlots(NamedTuple):
    """How the rig's car stands to its path and shares its forces, held between two looks at its tyres."""

    steer: int  # mean of the front wheels by the steering
    drift: int  # sideways over forward velocity at the rear axle
    sine_sideslip: int
    cosine_sideslip: int
    drag: int  # against the path
    front_lateral_extra: int  # left tyre's lateral force beyond its share by load, in the car's axes
    rear_lateral_extra: int
    front_along_extra: int  # left less right tyre's force along the car
    rear_along_extra: int
    front_drawn_back: int  # what turned wheels take off an axle's pull beyond that of their mean steer
    rear_drawn_back: int


class RigWheelSlots(NamedTuple):
    """What the rig knows of each tyre, four of each; slips are those it was last looked at with."""

    slip: int  # longitudinal
    tangent: int  # of the slip angle
    rolling: int  # speed along the wheel over the car's forward speed
    sine_steer: int
    cosine_steer: int
    lean: int
    along: int  # force along and across the wheel, then the same with either slip a difference further
    across: int
    along_further: int
    across_further: int
    along_aside: int
    across_aside: int


def _fours(block: type, fours: tuple[str, ...]) -> tuple[list[int], int]:
    position, indices = 0, []
    for name in block._fields:  # type: ignore[attr-defined]
        indices.append(position)
        position += CORNERS if name in fours else 1
    return indices, position


P = ChassisSlots(*range(len(ChassisSlots._fields)))
N_CHASSIS = len(P)
C, N_CORNER = _corner_indices()

_input_indices, N_INPUT = _fours(InputSlots, ("road", "road_speed"))
I = InputSlots(*_input_indices)  # noqa: E741 - the input block, beside P, C, Y and O

Y = RigStates(0, 1, 2, 3)
N_POSITION = 7
N_RIG = 2 * N_POSITION

_planar_indices, _n_planar = _fours(PlanarStates, ("spin", "slip", "slip_angle"))
X = PlanarStates(*[N_RIG + index for index in _planar_indices])
N_DRIVE = N_RIG + _n_planar

FOUR_OUTPUTS = OutputSlots._fields[:12]
_output_indices, N_OUTPUT = _fours(OutputSlots, FOUR_OUTPUTS)
O = OutputSlots(*_output_indices)  # noqa: E741 - the output block

# One car's parameters: chassis, four corners, two tyres.
CORNER_BASE = N_CHASSIS
TYRE_BASE = CORNER_BASE + CORNERS * N_CORNER
N_PARAMETER = TYRE_BASE + 2 * N_TYRE

# The workspace: parameters, inputs, state, derivative, outputs, the integrator's two copies, wheels.
INPUT_BASE = N_PARAMETER
STATE_BASE = INPUT_BASE + N_INPUT
RATE_BASE = STATE_BASE + N_DRIVE
OUTPUT_BASE = RATE_BASE + N_DRIVE
START_BASE = OUTPUT_BASE + N_OUTPUT
SUM_BASE = START_BASE + N_DRIVE

# Of the drive alone: each of these slots is four, one per wheel; then the wheels' tyre coefficients likewise.
W = WheelSlots(*[SUM_BASE + N_DRIVE + CORNERS * k for k in range(len(WheelSlots._fields))])
TYRE_SET_BASE = SUM_BASE + N_DRIVE + CORNERS * len(W)

# Of laps alone.
_lap_indices, N_LAP = _fours(LapSlots, LapSlots._fields[4:])
A = LapSlots(*_lap_indices)
R = GateSlots(*range(len(GateSlots._fields)))
N_GATE = len(R)
TALLY_BASE = TYRE_SET_BASE + CORNERS * N_TYRE
Q = TallySlots(*range(TALLY_BASE, TALLY_BASE + len(TallySlots._fields)))

# Of the rig alone, in the place of what laps need.
H = AttitudeSlots(*range(TALLY_BASE, TALLY_BASE + len(AttitudeSlots._fields)))
V = RigWheelSlots(*[TALLY_BASE + len(H) + CORNERS * k for k in range(len(RigWheelSlots._fields))])
N_WORKSPACE = max(Q.lap + N_LAP, V[0] + CORNERS * len(V))
