"""A kernel that drives laps on a GPU, one car a thread, written from the physics.

What a step computes is followed from `physics` (`trace`); written by hand are the loop over the steps, the
twin of `physics.lap.lap_run`, and where a thread finds its car. All state stays in registers from the first
step of a launch to its last. A launch drives a stretch of steps and leaves the state in memory for the next,
so that a long run can be watched and broken off, and no screen waits for it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from fourpatch.compute.trace import Block, Follower, Number, Symbol, Table, Trace, Workspace, written
from fourpatch.physics import driver, full_car, integrate, lap, lap_tally
from fourpatch.physics.driver import N_HABIT, N_PACE, N_WAY, Plan
from fourpatch.physics.integrate import EngineTable, RoadTable
from fourpatch.physics.lap_tally import Marks
from fourpatch.physics.layout import (
    N_DRIVE,
    N_GATE,
    N_PARAMETER,
    START_BASE,
    STATE_BASE,
    X,
)

BLOCK = 32
"""Threads of a block: so few that a small number of cars, too, is spread over the whole card."""

N_COLUMN = N_PARAMETER + N_HABIT + 2
"""What is known of each car: its parameters, its driver's habits, his limit in steady turns."""


@dataclass(frozen=True)
class Shape:
    """What a kernel is written for."""

    precision: str
    """`float` or `double`."""
    known: tuple[tuple[int, float], ...]
    """Columns that are numbers in the source, alike in all cars, and those numbers."""
    shared: tuple[int, ...]
    """Columns that are alike in all cars but told at the launch."""
    own: tuple[int, ...]
    """Columns in which cars differ."""
    closed: bool
    """Whether the line is a lap."""
    rough: bool
    """Whether the road has more than one height."""


@dataclass(frozen=True)
class LapKernel:
    """A kernel's text."""

    source: str
    saved: tuple[int, ...]
    """Slots kept from one launch to the next, in their order."""
    operations: Mapping[str, int]
    """By block."""


_HEAD = """typedef %(precision)s F;
struct Shared { F at[%(shared)d]; };
__device__ __forceinline__ F least(F a, F b) { return fmin(a, b); }
__device__ __forceinline__ F most(F a, F b) { return fmax(a, b); }
__device__ __forceinline__ int least(int a, int b) { return a < b ? a : b; }
__device__ __forceinline__ int most(int a, int b) { return a > b ? a : b; }
__device__ __forceinline__ int row(int a) { return a; }
__device__ __forceinline__ int row(F a) { return a > F(0) ? int(a) : 0; }
extern "C" __global__ void __launch_bounds__(%(block)d) drive_laps(
    const Shared shared, const int cars, const int first_step, const int end_step, const int every,
    const F step, const F finish, const F mark_begin, const F mark_end, const int gate_count,
    const int places, const F plan_spacing, const int turns, const int engine_rows, const F engine_spacing,
    const int stretch_count, const F road_spacing, const F road_origin, const F road_lap,
    const int* __restrict__ rows, const F* __restrict__ own, const F* __restrict__ ways,
    const F* __restrict__ paces, const F* __restrict__ understeers, const F* __restrict__ torques,
    const F* __restrict__ all_stretches, const F* __restrict__ gate_at, const F* __restrict__ room,
    F* __restrict__ saved, F* __restrict__ all_gates, int* __restrict__ ended)
{
    const int car = blockIdx.x * blockDim.x + threadIdx.x;
    if (car >= cars || ended[car] >= 0) return;
    // Rows lie so that several numbers are read at once.
    const F* __restrict__ way = (const F*) __builtin_assume_aligned(ways, 8);
    const F* __restrict__ stretches = (const F*) __builtin_assume_aligned(all_stretches, 16);
    const F* __restrict__ pace =
        (const F*) __builtin_assume_aligned(paces + (size_t) rows[car] * places * %(n_pace)d, 16);
    const F* __restrict__ understeer = understeers + (size_t) rows[cars + car] * turns;
    const F* __restrict__ torque =
        (const F*) __builtin_assume_aligned(torques + (size_t) rows[2 * cars + car] * engine_rows * 2, 8);
    F* __restrict__ gates = all_gates + (size_t) car * gate_count * %(n_gate)d;
    // The state at the start of a step waits here: registers are short.
    __shared__ F begun[%(states)d][%(block)d];
    int done = -1;
"""

_SIZES = {"block": BLOCK, "states": N_DRIVE, "n_pace": N_PACE, "n_gate": N_GATE}

_LOOP = """
    for (int n = first_step; n < end_step && done < 0; ++n) {
        { %(act)s }
        if (s%(distance)d >= finish) done = n;
        %(begin)s
        #pragma unroll 1
        for (int stage = 0; stage < 2; ++stage) {
            { %(stage)s }
            if (stage == 0) {
                if (n %% every == 0) { const F time = F(n) * step, interval = F(every) * step; %(note)s }
                { %(half)s }
            } else { %(whole)s }
        }
    }
"""


class _PerCar:
    """A table with a row a car as the physics indexes it, by car or by car and column: this car's row."""

    def __init__(self, row: Any) -> None:
        self.row = row

    def __getitem__(self, index: Any) -> Any:
        return self.row[index[1]] if isinstance(index, tuple) else self.row


def _per_car(row: Any) -> Any:
    return _PerCar(row)


class _Writer:
    def __init__(self, shape: Shape) -> None:
        self.shape, self.trace = shape, Trace()
        self.follow = Follower(self.trace, single=shape.precision == "float")
        self._numbers = dict(shape.known)
        self.columns = [self._column(k) for k in range(N_COLUMN)]
        number = self._number
        habits, grip = self.columns[N_PARAMETER:-2], self.columns[-2:]
        places, gates = number("places", "int"), number("gate_count", "int")
        self.gates = Table(self.trace, "gates", gates, N_GATE)
        self.plan = Plan(
            way=self._table("way", places, N_WAY),
            pace=_per_car(self._table("pace", places, N_PACE)),
            spacing=number("plan_spacing"),
            closed=shape.closed,
            habits=_per_car(habits),
            grip=_per_car(grip),
            understeer=_per_car(self._table("understeer", number("turns", "int"))),
            finish=number("finish"),
        )
        self.engines = EngineTable(
            _per_car(self._table("torque", number("engine_rows", "int"), 2)), number("engine_spacing")
        )
        count: Any = number("stretch_count", "int") if shape.rough else 1
        self.road = RoadTable(
            self._table("stretches", count, 4, 4),
            number("road_spacing"),
            number("road_origin"),
            number("road_lap"),
        )
        self.marks = Marks(
            gates=self._table("gate_at", gates),
            begin=number("mark_begin"),
            end=number("mark_end"),
            room=self._table("room", places, 2),
        )
        # A road of one stretch is as high everywhere as where the run begins.
        setup = Workspace(
            self.trace, {**dict(enumerate(self.columns[:N_PARAMETER])), STATE_BASE + X.distance: 0.0}
        )
        self.follow(full_car.load_wheels, setup, 0, 1)
        if not shape.rough:
            self.follow(integrate.road_inputs, setup, 1, 1, self.road)
        del setup.known[STATE_BASE + X.distance]
        self.known = {**setup.known, **setup.written}
        self.invariant = {value: f"h{slot}" for slot, value in setup.written.items() if _computed(value)}

    def _number(self, name: str, kind: str = "F") -> Any:
        return self.trace.make(kind, name)

    def _table(self, name: str, *shape: Number) -> Any:
        return Table(self.trace, name, *shape)

    def _column(self, k: int) -> Any:
        if k in self._numbers:
            return self._numbers[k]
        if k in self.shape.shared:
            return self._number(f"shared.at[{self.shape.shared.index(k)}]")
        return self._number(f"p{k}")

    def block(self, *calls: tuple[object, ...]) -> Workspace:
        """Follow calls of the physics one after the other on one workspace."""
        S = Workspace(self.trace, self.known)
        for function, *arguments in calls:
            self.follow(function, S, *arguments)  # type: ignore[arg-type]
        return S


def _computed(value: Number) -> bool:
    return isinstance(value, Symbol) and bool(value.parts)


def _blocks(writer: _Writer) -> dict[str, Workspace]:
    """What the parts of a step do to a car's slots, in their order."""
    step, plan, engines = writer._number("step"), writer.plan, writer.engines
    time, interval = writer._number("time"), writer._number("interval")
    roads = [(integrate.road_inputs, 1, 1, writer.road)] if writer.shape.rough else []
    return {
        "act": writer.block((driver.lay_way, 0, 1, plan), (driver.act, 0, 1, 0, step, plan, engines)),
        "begin": writer.block((integrate.begin_step, 1, N_DRIVE)),
        "stage": writer.block((lap.engines_pull, 1, 1, 1, 0, engines), *roads, (integrate.drive_rates, 1, 1)),
        "note": writer.block((lap_tally.note, 0, 1, time, interval, plan, writer.marks, writer.gates)),
        "half": writer.block((integrate.end_stage, 1, N_DRIVE, 0.0, 0.5 * step)),
        "whole": writer.block(
            (integrate.end_stage, 1, N_DRIVE, 6.0, 0.5 * step), (lap.end_lap_step, 1, 1, step)
        ),
    }


@lru_cache(maxsize=8)
def lap_kernel(shape: Shape) -> LapKernel:
    """Write the kernel for a shape; those written last are kept, for each takes half a second."""
    writer = _Writer(shape)
    blocks = _blocks(writer)
    # A slot needs a name of its own if some block reads what another one, or the step before, has left there.
    named = set().union(*(S.read for S in blocks.values()))
    texts = {name: _text(writer, S, named, name == "note") for name, S in blocks.items()}
    saved = tuple(sorted(_lasting(blocks)))
    # What only the notes use waits in memory: it is wanted once in ten steps, and registers are short.
    others = set().union(*(S.read for name, S in blocks.items() if name != "note"))
    noted, held = [k for k in saved if k not in others], [k for k in saved if k in others]
    place = {slot: f"saved[(size_t) {k} * cars + car]" for k, slot in enumerate(saved)}
    texts["note"].lines[:0] = [f"F s{slot} = {place[slot]};" for slot in noted]
    texts["note"].lines += [f"{place[slot]} = s{slot};" for slot in noted]
    started = range(START_BASE, START_BASE + N_DRIVE)
    invariant = {f"const F {name}": value for value, name in writer.invariant.items()}
    return LapKernel(
        source="\n".join(
            [
                _HEAD % {**_SIZES, "precision": shape.precision, "shared": max(len(shape.shared), 1)},
                *(
                    f"const F p{column} = own[(size_t) {k} * cars + car];"
                    for k, column in enumerate(shape.own)
                ),
                *written(writer.trace, invariant, [], lambda _: None).lines,
                *(f"F s{slot} = {place[slot]};" for slot in held),
                *(f"F& s{slot} = begun[{k}][threadIdx.x];" for k, slot in enumerate(started)),
                *(f"F s{slot} = F(0);" for slot in sorted(named - set(saved) - set(started))),
                _LOOP
                % {
                    "distance": STATE_BASE + X.distance,
                    **{name: "\n".join(block.lines) for name, block in texts.items()},
                },
                *(f"{place[slot]} = s{slot};" for slot in held),
                "ended[car] = done;\n}\n",
            ]
        ),
        saved=saved,
        operations={name: block.operations for name, block in texts.items()},
    )


def _lasting(blocks: Mapping[str, Workspace]) -> set[int]:
    """Slots that are read before they are written in a step: what the step before has left there."""
    lasting, fresh = set[int](), set[int]()
    for name, S in blocks.items():
        lasting |= S.read - fresh
        if name != "note":  # which not every step takes
            fresh |= set(S.written)
    return lasting


def _text(writer: _Writer, S: Workspace, named: set[int], stores: bool) -> Block:
    results = {f"s{slot}": value for slot, value in S.written.items() if slot in named}
    tables = [writer.gates] if stores else []
    return written(writer.trace, results, tables, writer.invariant.get)
