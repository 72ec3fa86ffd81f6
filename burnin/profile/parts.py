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


class StageSettings(Part):
    """What every stage may be given."""

    title: str = Field(default="", max_length=60)
    cool_below_c: Celsius | None = Field(
        default=None, description="wait before the stage until the GPU is below this"
    )
    cool_wait_s: Seconds = Field(default=600.0, description="longest wait for that")
    optional: tuple[str, ...] = Field(
        default=(), description="readings without which the run may still pass"
    )
