"""What a profile asks for under load: what a technician measures while the card works."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from burnin.profile.parts import Celsius, Part, Shown

At = Literal["joint", "plug"]
Volt = Annotated[float, Field(gt=0.0, le=20.0)]
Name = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]{1,30}$")]
Title = Annotated[Shown, Field(min_length=3, max_length=80)]


class VoltageAcross(Part):
    """Voltage from one side of a supply contact to the other, in V: what it resists shows there.

    `at`: a joint of the card, both probes on the card, or a plug, one probe on its cable's side.
    """

    measure: Literal["voltage_across"]
    name: Name = Field(description="how the sheet calls it")
    title: Title = Field(description="what is put to the technician")
    at: At
    plug: int = Field(default=1, ge=1, le=4, description="the power plug that it belongs to")
    at_most_v: Volt
    required: bool = True


class SupplyVoltage(Part):
    """12 V at the plug while the card draws its power, in V.

    The default is 12 V within 5 % (ATX12V design guide; from memory).
    """

    measure: Literal["supply_voltage"]
    name: Name
    title: Title
    plug: int = Field(default=1, ge=1, le=4)
    at_least_v: Volt = 11.4
    at_most_v: Volt = 12.6
    required: bool = True

    @model_validator(mode="after")
    def _in_order(self) -> SupplyVoltage:
        if self.at_least_v >= self.at_most_v:
            raise ValueError(
                f"at_least_v = {self.at_least_v:g} lies above at_most_v = {self.at_most_v:g}"
            )
        return self


class TouchedTemperature(Part):
    """Temperature of a joint or a plug, in °C, by a probe that touches it or by a camera."""

    measure: Literal["temperature"]
    name: Name
    title: Title
    at: At
    plug: int = Field(default=1, ge=1, le=4)
    by: Literal["probe", "camera"] = "probe"
    at_most_c: Celsius
    required: bool = True


class Picture(Part):
    """Whether the picture is clean while the card works, as somebody sees it."""

    measure: Literal["picture"]
    name: Name
    title: Title
    required: bool = True


UnderLoadPoint = Annotated[
    VoltageAcross | SupplyVoltage | TouchedTemperature | Picture, Field(discriminator="measure")
]
