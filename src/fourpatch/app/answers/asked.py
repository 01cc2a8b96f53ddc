"""What most questions begin with: a car and two set-ups of it."""

from typing import Annotated

from pydantic import BaseModel, Field

Positions = Annotated[
    dict[str, Annotated[float, Field(allow_inf_nan=False)]],
    Field(
        max_length=200, description="Adjusters that do not stand at their baseline, in steps of their own."
    ),
]


class SetupsAsked(BaseModel):
    """A car, the reference set-up A and the set-up B that is asked about."""

    car: str = Field(default="gt", min_length=1, max_length=200, description="The car's id.")
    a: Positions = Field(default_factory=dict)
    b: Positions = Field(default_factory=dict)
