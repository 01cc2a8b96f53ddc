"""What most questions begin with: where adjusters stand."""

from typing import Annotated

from pydantic import Field

Positions = Annotated[
    dict[str, Annotated[float, Field(allow_inf_nan=False)]],
    Field(max_length=200, description="Where adjusters stand that are not at their baseline, by name."),
]
