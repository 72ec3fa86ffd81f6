"""What a profile asks for before power, and at cold starts: the parts of its format for repairs."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

Ohm = Annotated[float, Field(ge=0.0, le=1e9)]
Volt = Annotated[float, Field(gt=0.0, le=5.0)]
ContactName = Annotated[str, Field(pattern=r"^[AB]([1-9]|[1-7][0-9]|8[0-2])$")]


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class Supply(_Part):
    """Resistance from a supply of the unpowered card to ground, in Ω."""

    measure: Literal["supply"]
    name: str = Field(pattern=r"^[a-z][a-z0-9_]{1,30}$", description="how `measure` calls it")
    title: str = Field(min_length=3, max_length=80)
    short_below_ohm: Ohm = Field(description="less is a short: no power may be put on the card")
    at_least_ohm: Ohm | None = None
    required: bool = True

    @model_validator(mode="after")
    def _short_lies_lowest(self) -> Supply:
        if self.at_least_ohm is not None and self.at_least_ohm < self.short_below_ohm:
            raise ValueError(
                f"at_least_ohm = {self.at_least_ohm:g} lies below short_below_ohm ="
                f" {self.short_below_ohm:g}"
            )
        return self


class DiodeReadings(_Part):
    """Diode-mode readings from contacts to ground, in V; red probe on ground."""

    measure: Literal["diode"]
    contacts: tuple[ContactName, ...] = Field(min_length=1)
    at_least_v: Volt | None = None
    at_most_v: Volt | None = None
    twin_within_v: Volt | None = Field(
        default=None, description="most that the two legs of a pair may differ"
    )
    required: bool = True

    @model_validator(mode="after")
    def _in_order(self) -> DiodeReadings:
        low, high = self.at_least_v, self.at_most_v
        if low is not None and high is not None and low > high:
            raise ValueError(f"at_least_v = {low:g} lies above at_most_v = {high:g}")
        return self


class RepairedPads(_Part):
    """Each repaired contact: joined to its trace, parted from its neighbours; in Ω."""

    measure: Literal["repaired_pads"]
    continuity_at_most_ohm: Ohm
    isolation_at_least_ohm: Ohm
    required: bool = True


class ExposedCopper(_Part):
    """Each patch of copper that was laid bare must be ground; resistance to ground in Ω."""

    measure: Literal["exposed_copper"]
    at_most_ohm: Ohm
    required: bool = True


BeforePower = Annotated[
    Supply | DiodeReadings | RepairedPads | ExposedCopper, Field(discriminator="measure")
]


class ColdStarts(_Part):
    """The link is judged at each of several cold starts."""

    stage: Literal["cold_starts"]
    title: str = Field(default="", max_length=60)
    cool_below_c: float | None = Field(default=None, ge=-20.0, le=125.0)
    cool_wait_s: float = Field(default=600.0, gt=0.0, le=86_400.0)
    optional: tuple[str, ...] = ()
    starts: int = Field(default=3, ge=1, le=50)
    reseats: int = Field(
        default=0, ge=0, le=50, description="starts before which the card is seated anew"
    )
    width_lanes: Literal[1, 2, 4, 8, 12, 16]
    generation: int = Field(ge=1, le=6)
    load_s: float = Field(default=5.0, gt=0.0, le=3600.0)
    off_at_least_s: float = Field(
        default=30.0, ge=0.0, le=3600.0, description="shortest time without power of a cold start"
    )
