"""What a wavy road does to the linear car: loads, travel and body motion per metre of road height."""

from typing import TYPE_CHECKING, Literal, assert_never

import numpy as np
from numpy.typing import NDArray

from fourpatch.analysis.linear_model import CORNERS, FOUR_OUTPUTS, SINGLE_OUTPUTS, LinearModel
from fourpatch.analysis.wheel_rates import corner_values
from fourpatch.errors import EventError
from fourpatch.physics.layout import N_RIG, C
from fourpatch.runs.channels import CHANNELS

if TYPE_CHECKING:
    import xarray as xr

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

RoadPattern = Literal["in phase", "left against right", "front against rear", "driven over"]
"""How the road moves the four wheels; driven over: both sides alike, rear wheels a wheelbase later."""


def road_pattern(
    pattern: RoadPattern, frequency: Array, *, wheelbase: float, speed: float | None = None
) -> Complex:
    """Return the road height under each wheel for a wave of unit height, (n, 4).

    Parameters
    ----------
    frequency : (n,). [Hz]
    wheelbase : [m]
    speed : of the car; only where the road is driven over. [m/s]

    Raises
    ------
    EventError
        If a road is to be driven over without a speed above zero.
    """
    signs = np.ones(4)
    match pattern:
        case "in phase":
            pass
        case "left against right":
            signs = np.array([1.0, -1.0, 1.0, -1.0])
        case "front against rear":
            signs = np.array([1.0, 1.0, -1.0, -1.0])
        case "driven over":
            if speed is None or not speed > 0.0:
                found = "no speed is given" if speed is None else f"the speed is {speed:g} m/s"
                raise EventError(
                    f'frequency response: the road is "driven over", but {found}; a wave reaches the rear '
                    "wheels a wheelbase / speed later. Give a speed above 0 m/s, or choose another road."
                )
            delay = np.exp(-2j * np.pi * frequency * wheelbase / speed)
            return np.stack([np.ones_like(delay), np.ones_like(delay), delay, delay], axis=1)
        case _:
            assert_never(pattern)
    return np.ones((frequency.size, 1), dtype=np.complex128) * signs


def frequency_response(
    model: LinearModel, frequency: Array, *, pattern: RoadPattern = "in phase", speed: float | None = None
) -> "xr.Dataset":
    """Return the answer of a linear car to a sinusoidal road.

    Parameters
    ----------
    frequency : (n,). [Hz]
    pattern : how the road moves the four wheels.
    speed : of the car; only where the road is driven over. [m/s]

    Returns
    -------
    Dataset
        Complex amplitudes per metre of road height, dimensions ``frequency`` [Hz] and, per wheel, ``corner``:
        `linear_model.OUTPUT_SLOTS`. Magnitude and phase against the road under the front wheels (in
        "left against right" the left ones).

    Raises
    ------
    EventError
        As `road_pattern`.

    Notes
    -----
    y = (C (i w - A)^-1 (B_z + i w B_v) + D_z + i w D_v) u, u from `road_pattern`; z are the columns of road
    heights, v those of their rates. The contact-length filter of the tyre is not in it.
    """
    road = road_pattern(pattern, frequency, wheelbase=wheelbase_of(model), speed=speed)
    output = answer_to_road(model, frequency, road)
    fours = {name: (("frequency", "corner"), output[:, model.rows_of(name)]) for name in FOUR_OUTPUTS}
    singles = {name: (("frequency",), output[:, model.rows_of(name)[0]]) for name in SINGLE_OUTPUTS}
    import xarray as xr

    return xr.Dataset(
        {name: (dims, values, _attributes(name)) for name, (dims, values) in {**fours, **singles}.items()},
        coords={"frequency": ("frequency", frequency, {"units": "Hz"}), "corner": list(CORNERS)},
        attrs={"road": pattern, "axes": "ISO 8855", **({} if speed is None else {"speed [m/s]": speed})},
    )


def wheelbase_of(model: LinearModel) -> float:
    """Return the distance from the front to the rear wheels of a linear car. [m]"""
    x = corner_values(model.vector, C.x)
    return float(x[0] - x[2])


def answer_to_road(model: LinearModel, frequency: Array, road: Complex) -> Complex:
    """Return complex amplitudes of all outputs, (n, outputs), rows of `linear_model.OUTPUT_SLOTS` as columns.

    Parameters
    ----------
    frequency : (n,). [Hz]
    road : (n, 4), complex amplitude of the road's height under each wheel. [m]
    """
    s = np.asarray(2j * np.pi * frequency, dtype=np.complex128)
    heights, rates = model.columns_of("road"), model.columns_of("road speed")

    def by_road(matrix: Array) -> Complex:
        both = road @ matrix[:, heights].T + s[:, None] * (road @ matrix[:, rates].T)
        return np.asarray(both, dtype=np.complex128)

    state = np.linalg.solve(s[:, None, None] * np.eye(N_RIG) - model.A, by_road(model.B)[..., None])[..., 0]
    return np.asarray(state @ model.C.T + by_road(model.D), dtype=np.complex128)


def _attributes(name: str) -> dict[str, str]:
    unit, meaning = CHANNELS[name]
    return {"units": f"{unit}/m", "long_name": f"{meaning}; per road height"}
