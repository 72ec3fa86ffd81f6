"""Causes at one display output: contacts of its connector, damaged EDID bytes."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, field_validator, model_validator

from burnin.sim.causes.cause import ComesAndGoes

MainLane = Literal["main_lane_0", "main_lane_1", "main_lane_2", "main_lane_3"]


class OutputCause(ComesAndGoes):
    """One display output: an open contact of its connector, or damaged EDID bytes.

    Contacts: ``hot_plug_detect`` (tells that a monitor is there), ``ddc`` (carries the EDID; the
    AUX pair of a DisplayPort), ``main_lane_0`` to ``main_lane_3`` (DisplayPort's picture lanes).
    With `every_s` and `for_s` the contact bounces; with `moved` it opens only while its plug is
    moved. `flip_edid_bytes`: offsets whose byte arrives
    inverted.
    """

    kind: Literal["output"]
    output: str
    contact: Literal["hot_plug_detect", "ddc"] | MainLane | None = None
    state: Literal["open"] | None = None
    flip_edid_bytes: tuple[Annotated[int, Field(ge=0, le=255)], ...] = ()
    moved: bool = False

    @field_validator("flip_edid_bytes", mode="before")
    @classmethod
    def _as_tuple(cls, value: object) -> object:
        return tuple(value) if isinstance(value, list) else value

    @model_validator(mode="after")
    def _consistent(self) -> OutputCause:
        if (self.contact is None) == (not self.flip_edid_bytes):
            raise ValueError("give either contact with state, or flip_edid_bytes")
        if (self.contact is None) != (self.state is None):
            raise ValueError("contact and state belong together")
        if self.moved and self.contact is None:
            raise ValueError("moved goes with contact and state")
        lane = self.contact is not None and self.contact.startswith("main_lane")
        if lane and not self.output.startswith("DP-"):
            raise ValueError("only a DisplayPort output has main lanes")
        self.check_times()
        return self
