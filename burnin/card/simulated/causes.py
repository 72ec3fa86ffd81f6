"""Faults of a scenario: each names a cause, never what anybody will see of it.

Numbers carry their unit in the name. Times count from power-on of the simulated machine unless
they say "load": those count seconds under load (the core at half share or more).
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, field_validator, model_validator

from burnin.connector.contact_map import contacts

Seconds = Annotated[float, Field(ge=0.0)]
Celsius = Annotated[float, Field(ge=-40.0, le=200.0)]
Positive = Annotated[float, Field(gt=0.0)]


class Cause(BaseModel):
    """What every cause shares: no key beyond the known ones, no silent conversion."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)


class ContactCause(Cause):
    """One contact of the card's edge: open, resistive or shorted to ground.

    `ohms` is the extra series resistance at 25 °C of a resistive contact, `ohms_per_k` how much
    it gains with every kelvin of the board. `above_board_c` and `after_s` let the state come only
    once the board is that warm or that much time has passed since power-on.
    """

    kind: Literal["contact"]
    contact: str
    state: Literal["open", "resistive", "short_to_ground"]
    ohms: Positive | None = None
    ohms_per_k: Annotated[float, Field(ge=0.0)] = 0.0
    above_board_c: Celsius | None = None
    after_s: Seconds = 0.0

    @field_validator("contact")
    @classmethod
    def _is_a_contact(cls, name: str) -> str:
        if name not in contacts():
            raise ValueError("a contact of the x16 edge is A1 to A82 or B1 to B82")
        return name

    @model_validator(mode="after")
    def _resistive_has_ohms(self) -> ContactCause:
        if (self.state == "resistive") != (self.ohms is not None):
            raise ValueError("ohms (above 0) is needed with state 'resistive' and only there")
        return self


class MemoryCellCause(Cause):
    """One memory cell that always reads as `stuck_at`.

    The cell is bit `bit` (0 to 31) of the 32-bit word at byte address `address`; with `chip` the
    address counts inside that chip. `above_memory_c`: sound below that memory temperature.
    """

    kind: Literal["memory_cell"]
    address: Annotated[int, Field(ge=0, multiple_of=4)]
    bit: Annotated[int, Field(ge=0, le=31)]
    stuck_at: Literal[0, 1]
    chip: Annotated[int, Field(ge=0)] | None = None
    above_memory_c: Celsius | None = None


class MemoryLineCause(Cause):
    """One data line of one memory chip, stuck: every word of that chip reads that bit so."""

    kind: Literal["memory_line"]
    chip: Annotated[int, Field(ge=0)]
    bit: Annotated[int, Field(ge=0, le=31)]
    stuck_at: Literal[0, 1]
    above_memory_c: Celsius | None = None


class ComputeCause(Cause):
    """Arithmetic that flips bit `bit` of one result in `one_in` once the die is hot enough."""

    kind: Literal["compute"]
    bit: Annotated[int, Field(ge=0, le=31)]
    one_in: Annotated[float, Field(ge=1.0)]
    unit: Literal["float", "integer", "any"] = "any"
    above_die_c: Celsius | None = None


class CoolantCause(Cause):
    """A water loop without coolant (`absent`), or whose flow ends at `flow_stops_at_s`."""

    kind: Literal["coolant"]
    state: Literal["absent", "flow_stops"]
    flow_stops_at_s: Seconds | None = None
    after_load_s: Seconds | None = None

    @model_validator(mode="after")
    def _when(self) -> CoolantCause:
        given = (self.flow_stops_at_s is not None) + (self.after_load_s is not None)
        if given != (1 if self.state == "flow_stops" else 0):
            raise ValueError(
                "state 'flow_stops' needs one of flow_stops_at_s and after_load_s,"
                " state 'absent' takes neither"
            )
        return self


class FanCause(Cause):
    """The card's fans: stalled from power-on, or from `stalls_at_s` or `after_load_s` on.

    `worn` fans reach only `speed_factor` of the speed that they are driven to.
    """

    kind: Literal["fan"]
    state: Literal["stalled", "stalls", "worn"]
    stalls_at_s: Seconds | None = None
    after_load_s: Seconds | None = None
    speed_factor: Annotated[float, Field(gt=0.0, lt=1.0)] | None = None

    @model_validator(mode="after")
    def _when(self) -> FanCause:
        given = (self.stalls_at_s is not None) + (self.after_load_s is not None)
        if given != (1 if self.state == "stalls" else 0):
            raise ValueError(
                "state 'stalls' needs one of stalls_at_s and after_load_s, the others take neither"
            )
        if (self.state == "worn") != (self.speed_factor is not None):
            raise ValueError("speed_factor (0 to 1) is needed with state 'worn' and only there")
        return self


class AirflowCause(Cause):
    """Clogged fins or a blocked radiator: resistance to the air multiplied by the factor."""

    kind: Literal["airflow"]
    resistance_factor: Annotated[float, Field(ge=1.0)]


class MountCause(Cause):
    """Block or heatsink badly mounted: die-to-cooler resistance multiplied by the factor."""

    kind: Literal["mount"]
    resistance_factor: Annotated[float, Field(ge=1.0)]


class PasteCause(Cause):
    """Paste missing under part of the die: the hot spot's excess multiplied by the factor."""

    kind: Literal["paste"]
    hotspot_factor: Annotated[float, Field(ge=1.0)]


class OutputCause(Cause):
    """One display output: an open contact of its connector, or damaged EDID bytes.

    Contacts: ``hot_plug_detect`` (tells that a monitor is there), ``ddc`` (carries the EDID; the
    AUX pair of a DisplayPort). `flip_edid_bytes`: offsets whose byte arrives inverted.
    """

    kind: Literal["output"]
    output: str
    contact: Literal["hot_plug_detect", "ddc"] | None = None
    state: Literal["open"] | None = None
    flip_edid_bytes: tuple[Annotated[int, Field(ge=0, le=255)], ...] = ()

    @field_validator("flip_edid_bytes", mode="before")
    @classmethod
    def _as_tuple(cls, value: object) -> object:
        return tuple(value) if isinstance(value, list) else value

    @model_validator(mode="after")
    def _one_of_both(self) -> OutputCause:
        if (self.contact is None) == (not self.flip_edid_bytes):
            raise ValueError("give either contact with state, or flip_edid_bytes")
        if (self.contact is None) != (self.state is None):
            raise ValueError("contact and state belong together")
        return self


class BusCause(Cause):
    """The card stops answering: after seconds under load, or once the board is too warm."""

    kind: Literal["bus"]
    state: Literal["falls_off"]
    after_load_s: Seconds | None = None
    above_board_c: Celsius | None = None

    @model_validator(mode="after")
    def _when(self) -> BusCause:
        if (self.after_load_s is None) == (self.above_board_c is None):
            raise ValueError("give one of after_load_s and above_board_c")
        return self


class FirmwareCause(Cause):
    """Firmware of another card: ids or version that are not this card's own."""

    kind: Literal["firmware"]
    vendor_id: Annotated[int, Field(ge=0, lt=0xFFFF)] | None = None
    device_id: Annotated[int, Field(ge=0, lt=0xFFFF)] | None = None
    subsystem_vendor_id: Annotated[int, Field(ge=0, lt=0xFFFF)] | None = None
    subsystem_id: Annotated[int, Field(ge=0, lt=0xFFFF)] | None = None
    version: str | None = None


class SensorCause(Cause):
    """A sensor that lies: offset by `bias`, stuck at `value` from `after_s`, or unreadable.

    `bias` and `value` are in °C, W or rpm, whichever the sensor reads.
    """

    kind: Literal["sensor"]
    sensor: Literal["die", "hotspot", "memory", "power", "fan"]
    state: Literal["biased", "stuck", "unreadable"]
    bias: float | None = None
    value: float | None = None
    after_s: Seconds = 0.0

    @model_validator(mode="after")
    def _numbers(self) -> SensorCause:
        if (self.state == "biased") != (self.bias is not None):
            raise ValueError("bias is needed with state 'biased' and only there")
        if self.state != "stuck" and self.value is not None:
            raise ValueError("value goes with state 'stuck' only")
        return self


AnyCause = Annotated[
    ContactCause
    | MemoryCellCause
    | MemoryLineCause
    | ComputeCause
    | CoolantCause
    | FanCause
    | AirflowCause
    | MountCause
    | PasteCause
    | OutputCause
    | BusCause
    | FirmwareCause
    | SensorCause,
    Field(discriminator="kind"),
]
"""One entry of a scenario's `causes`; its `kind` says which."""
