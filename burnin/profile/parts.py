"""What every part of a profile's format is made of."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

Share = Annotated[float, Field(ge=0.0, le=1.0)]
Seconds = Annotated[float, Field(gt=0.0, le=86_400.0)]
Celsius = Annotated[float, Field(ge=-20.0, le=125.0)]


class Part(BaseModel):
    """A table of the format; unknown fields are refused."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)
