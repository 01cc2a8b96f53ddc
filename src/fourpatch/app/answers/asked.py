"""What most questions begin with: a car and two set-ups of it."""

from typing import Annotated

from pydantic import BaseModel, Field

Positions = Annotated[
    dict[str, Annotated[float, Field(allow_inf_nan=False)]],
    Field(max_length=200, description="Where adjusters stand that are not at their baseline, by name."),
]


class SetupsAsked(BaseModel):
    """A car, the reference set-up A and the set-up B that is asked about."""

    car: int = Field(ge=1, le=2**31, description="The car's id in the notebook.")
    a: Positions = Field(default_factory=dict)
    b: Positions = Field(default_factory=dict)
