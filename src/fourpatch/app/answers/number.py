"""A number of an answer, as it stands with B and with A, and one line of an answer in time."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, Field

Array = NDArray[np.float64]


class Number(BaseModel):
    """One number, with set-up B and with the reference A."""

    part: str = Field(default="", description="Phase of a corner; empty for a road or kerb.")
    quantity: str = Field(description="What is measured.")
    place: str = Field(default="", description="front, rear, FL, FR, RL, RR, or empty for the whole car.")
    value: float | None = Field(description="With B, in `unit`; null where there is nothing to measure.")
    reference: float | None = Field(description="With A, in `unit`.")
    unit: str = Field(description="SI, or points.")
    meaning: str = Field(description="What the number is.")

    @property
    def change(self) -> float | None:
        """Difference of B from A."""
        return None if self.value is None or self.reference is None else self.value - self.reference


class Line(BaseModel):
    """One quantity in time, with B and with A."""

    quantity: str = Field(description="What is drawn.")
    place: str = Field(description="front, rear, FL, FR, RL, RR, or empty for the whole car.")
    unit: str = Field(description="SI, or points.")
    value: list[float | None] = Field(description="With B, one per instant.")
    reference: list[float | None] = Field(description="With A, one per instant.")


class Histories(BaseModel):
    """What happened in time."""

    time: list[float] = Field(description="[s]")
    phases: list[tuple[str, float, float]] = Field(
        description="Parts of the event: name, start [s], end [s]."
    )
    lines: list[Line]


Lines = Mapping[tuple[str, str], Array]
"""Of one car: by quantity and place, (n,)."""


def finite(value: float) -> float | None:
    """Return a number, or None for what is not one."""
    return float(value) if np.isfinite(value) else None


def paired_lines(b: Lines, a: Lines, units: Mapping[str, str]) -> list[Line]:
    """Return lines of B and A side by side.

    Parameters
    ----------
    units : SI unit by quantity.
    """
    return [
        Line(
            quantity=quantity,
            place=place,
            unit=units[quantity],
            value=[finite(one) for one in values],
            reference=[finite(one) for one in a[quantity, place]],
        )
        for (quantity, place), values in b.items()
    ]
