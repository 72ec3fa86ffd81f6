"""What a profile asks for before power: what is measured on the unpowered card."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from burnin.profile.parts import Part, Shown

Ohm = Annotated[float, Field(ge=0.0, le=1e9)]
Volt = Annotated[float, Field(gt=0.0, le=5.0)]
ContactName = Annotated[str, Field(pattern=r"^[AB]([1-9]|[1-7][0-9]|8[0-2])$")]


OpenMeans = Literal["blown_fuse", "open_path"]
NotGood = Literal["fail", "unsure"]


class Supply(Part):
    """Resistance from a supply of the unpowered card to ground, in Ω.

    Less than `short_below_ohm`, and 0.00 always, is a short; over the meter's range (OL) the
    supply's path is open; what lies between short and `at_least_ohm` is neither.
    """

    measure: Literal["supply"]
    name: str = Field(pattern=r"^[a-z][a-z0-9_]{1,30}$", description="how `measure` calls it")
    title: Shown = Field(min_length=3, max_length=80)
    short_below_ohm: Ohm = Field(description="less is a short: no power may be put on the card")
    at_least_ohm: Ohm | None = Field(
        default=None, description="a sound card reads at least this; left out: more than a short"
    )
    usual_at_most_ohm: Ohm | None = Field(
        default=None,
        description="more is hardly of this supply: it is asked back before it is kept",
    )
    open_means: OpenMeans = Field(
        default="blown_fuse", description="what OL says: a blown fuse, or a path that is open"
    )
    open_is: NotGood = Field(
        default="unsure", description="verdict of OL: unsure until the next check decides, or fail"
    )
    between_is: NotGood = Field(
        default="fail", description="verdict of a value between short and at_least_ohm"
    )
    required: bool = True

    @model_validator(mode="after")
    def _short_lies_lowest(self) -> Supply:
        if self.at_least_ohm is not None and self.at_least_ohm < self.short_below_ohm:
            raise ValueError(
                f"at_least_ohm = {self.at_least_ohm:g} lies below short_below_ohm ="
                f" {self.short_below_ohm:g}"
            )
        usual = self.usual_at_most_ohm
        least = self.short_below_ohm if self.at_least_ohm is None else self.at_least_ohm
        if usual is not None and usual < least:
            raise ValueError(
                f"usual_at_most_ohm = {usual:g} lies below what a sound card reads at least,"
                f" {least:g}"
            )
        return self


class DiodeReadings(Part):
    """Diode-mode readings from contacts to ground, in V; red probe on ground.

    Less than `short_below_v`, and 0.000 always, is a short to ground; over the meter's range (OL)
    pad, trace or part is off.
    """

    measure: Literal["diode"]
    contacts: tuple[ContactName, ...] = Field(min_length=1)
    at_least_v: Volt | None = None
    at_most_v: Volt | None = None
    twin_within_v: Volt | None = Field(
        default=None, description="most that the two legs of a pair may differ"
    )
    short_below_v: Volt = Field(
        default=0.02, description="less is a short to ground; common practice, no source"
    )
    open_is: NotGood = Field(default="fail", description="verdict of OL: the contact is off")
    required: bool = True

    @model_validator(mode="after")
    def _in_order(self) -> DiodeReadings:
        low, high = self.at_least_v, self.at_most_v
        if low is not None and high is not None and low > high:
            raise ValueError(f"at_least_v = {low:g} lies above at_most_v = {high:g}")
        return self


class RepairedPads(Part):
    """Each repaired contact: joined to its trace, parted from its neighbours; in Ω.

    To its trace 0.00 is good and OL is a break; to a neighbour OL is good and 0.00 is a bridge.
    """

    measure: Literal["repaired_pads"]
    continuity_at_most_ohm: Ohm
    isolation_at_least_ohm: Ohm
    required: bool = True


class ExposedCopper(Part):
    """Each patch of copper that was laid bare must be ground; resistance to ground in Ω.

    0.00 is good; OL says that the patch is no ground.
    """

    measure: Literal["exposed_copper"]
    at_most_ohm: Ohm
    required: bool = True


BeforePower = Annotated[
    Supply | DiodeReadings | RepairedPads | ExposedCopper, Field(discriminator="measure")
]
