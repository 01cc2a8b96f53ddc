"""What a wavy road does to a car, frequency by frequency."""

from typing import TYPE_CHECKING, Annotated, Any, ClassVar

import numpy as np

from fourpatch.analysis.frequency_response import RoadPattern, frequency_response
from fourpatch.analysis.linear_model import FOUR_OUTPUTS, SINGLE_OUTPUTS, linearise
from fourpatch.answers.answer import Answer
from fourpatch.answers.question import SPEED, Asked, Found, Question, Units, at
from fourpatch.car.pack import pack
from fourpatch.document.content import finite, json_unit, settings_content
from fourpatch.events.motion import steady_inputs
from fourpatch.picture.blocks import Block, Picture, Table, drawing, means
from fourpatch.picture.head import Head
from fourpatch.runs.channels import CHANNELS

if TYPE_CHECKING:
    import xarray as xr

AMPLITUDES = {
    name: (f"{CHANNELS[name][0]}/m", CHANNELS[name][1]) for name in (*FOUR_OUTPUTS, *SINGLE_OUTPUTS)
}
"""Unit and meaning of each amplitude, per metre of road."""

RESPONSE: Units = {
    "frequency": ("Hz", "of the road under the car"),
    **{name: {"magnitude": said, "phase": ("rad", said[1])} for name, said in AMPLITUDES.items()},
}

AT = (0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 7.0, 10.0, 12.0, 15.0, 20.0, 30.0)
"""Frequencies of the table's rows. [Hz]"""


class FrequencyResponse(Question):
    """Load, wheel travel and body motion of CAR per millimetre of a wavy road, against frequency."""

    command: ClassVar[str] = "analyse frequency-response"
    question: ClassVar[str] = "How does the car answer bumps of each frequency?"
    finds: ClassVar[dict[str, Found]] = {"response": RESPONSE}
    drawn: ClassVar[bool] = True

    speed: Annotated[float, SPEED] = 0.0
    """Of the car, which sets downforce."""
    road: RoadPattern = "in phase"
    """How the road moves the four wheels."""

    def answer(self, asked: Asked) -> Answer:
        """Compute it."""
        car = asked.car
        inputs = steady_inputs(car.standing, speed=self.speed)
        model = linearise(pack(car.standing), inputs, name="frequency response")
        driven = self.speed if self.speed > 0.0 else None
        found = frequency_response(model, np.geomspace(0.3, 30.0, 241), pattern=self.road, speed=driven)
        source = f"{car.named}; {at(self.speed)}, road {self.road}, linear model"
        draw = drawing(
            "frequency_response.frequency_response_figure", found, question=self.question, source=source
        )
        return Answer(
            title=source,
            about={**car.content(), "mode": "linear model", **settings_content(self)},
            found={"response": response_content(found)},
            blocks=[*response_blocks(found), Picture(draw=draw, says=self.question)],
        )


def response_blocks(found: "xr.Dataset") -> list[Block]:
    """Return sizes per millimetre of road at some frequencies."""
    rows = []
    for frequency in AT:
        one = abs(found.interp(frequency=frequency))
        rows.append(
            (
                f"{frequency:g}",
                *(f"{float(one.tyre_load.sel(corner=c)) * 1e-3:.1f}" for c in ("FL", "RL")),
                *(f"{float(one.travel.sel(corner=c)):.3f}" for c in ("FL", "RL")),
                f"{float(one.heave_acceleration) * 1e-3:.3f}",
                f"{np.degrees(float(one.pitch_acceleration)) * 1e-3:.2f}",
                f"{np.degrees(float(one.roll_acceleration)) * 1e-3:.2f}",
            )
        )
    sizes = Table(
        heads=[
            Head(text="frequency", unit="Hz"),
            Head(text="load FL", unit="N/mm"),
            Head(text="load RL", unit="N/mm"),
            Head(text="travel FL", unit="mm/mm"),
            Head(text="travel RL", unit="mm/mm"),
            Head(text="heave", unit="m/s² per mm"),
            Head(text="pitch", unit="deg/s² per mm"),
            Head(text="roll", unit="deg/s² per mm"),
        ],
        rows=rows,
    )
    return [sizes, means(response_meaning(found))]


def response_meaning(found: "xr.Dataset") -> str:
    """Say at which frequencies load and body answer most."""
    said = []
    for axle, corner in (("front", "FL"), ("rear", "RL")):
        size = np.abs(found.tyre_load.sel(corner=corner).values)
        peak = int(np.argmax(size))
        said.append(
            f"each millimetre of road moves the {axle} tyre's load by up to {size[peak] * 1e-3:.0f} N, at "
            f"{float(found.frequency[peak]):.1f} Hz"
        )
    return "; ".join(said) + "."


def response_content(found: "xr.Dataset") -> dict[str, Any]:
    """Return magnitudes and phases for JSON."""
    content: dict[str, Any] = {"frequency": {"value": found.frequency.values.tolist(), "unit": "Hz"}}
    for name, values in found.data_vars.items():
        content[str(name)] = {
            "magnitude": {"value": _by_corner(abs(values)), "unit": json_unit(values.attrs["units"])},
            "phase": {"value": _by_corner(values.copy(data=np.angle(values.values))), "unit": "rad"},
        }
    return content


def _by_corner(values: "xr.DataArray") -> Any:
    if "corner" not in values.dims:
        return [finite(value) for value in values.values.tolist()]
    return {str(place): _by_corner(values.sel(corner=place, drop=True)) for place in values.corner.values}
