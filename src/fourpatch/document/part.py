"""The base of everything a file can hold."""

from pydantic import BaseModel, ConfigDict


class Part(BaseModel):
    """Base of all parts: frozen, no unknown keys, attribute docstrings become descriptions."""

    model_config = ConfigDict(frozen=True, extra="forbid", use_attribute_docstrings=True)
