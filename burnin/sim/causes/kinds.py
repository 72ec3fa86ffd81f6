"""Faults of a scenario: each names a cause, never what anybody will see of it.

Numbers carry their unit in the name. Times count from power-on of the simulated machine unless
they say "load": those count seconds under load (the core at half share or more).
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from burnin.sim.causes.cause import Cause, Celsius, FanNumber, Positive, Seconds
from burnin.sim.causes.contacts import (
    CapacitorCause,
    ContactCause,
    PlugCause,
    SupplyJointCause,
)
from burnin.sim.causes.memory import MemoryCellCause, MemoryChipCause, MemoryLineCause
from burnin.sim.causes.outputs import OutputCause
from burnin.sim.causes.sensors import CounterCause, SensorCause

__all__ = [
    "AirflowCause", "AnyCause", "BusCause", "CapacitorCause", "Cause", "Celsius", "ComputeCause",
    "ContactCause", "CoolantCause", "CounterCause", "DriverCause", "FanCause", "FirmwareCause",
    "MemoryCellCause", "MemoryChipCause", "MemoryLineCause", "MountCause", "OutputCause",
    "PasteCause", "PlugCause", "Positive", "RailCause", "SensorCause", "SupplyJointCause",
]


class ComputeCause(Cause):
    """Arithmetic that flips bit `bit` of one result in `one_in` once the die is hot enough."""

    kind: Literal["compute"]
    bit: Annotated[int, Field(ge=0, le=31)]
    one_in: Annotated[float, Field(ge=1.0)]
    unit: Literal["float", "integer", "any"] = "any"
    above_die_c: Celsius | None = None


class RailCause(Cause):
    """Cracked capacitors behind the core's regulator: they carry a rise of `holds_step_w` at most.

    Until the regulator follows a larger one the core's voltage is too low: results are wrong.
    """

    kind: Literal["rail"]
    holds_step_w: Positive


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

    `worn` fans reach only `speed_factor` of the speed that they are driven to. `fan`: the one that
    it is, counted from 1; left out: all of them.
    """

    kind: Literal["fan"]
    state: Literal["stalled", "stalls", "worn"]
    stalls_at_s: Seconds | None = None
    after_load_s: Seconds | None = None
    speed_factor: Annotated[float, Field(gt=0.0, lt=1.0)] | None = None
    fan: FanNumber | None = None

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


class BusCause(Cause):
    """The card leaves the bus: after seconds under load, or once the board is too warm.

    `falls_off`: for good. `bounces`: its link goes down and the port recovers it at once, so that
    nothing but the kernel's log tells of it.
    """

    kind: Literal["bus"]
    state: Literal["falls_off", "bounces"]
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


class DriverCause(Cause):
    """What happens to the driver after seconds under load.

    `hangs`: its files answer no more, work stands still. `resets`: it resets the card with success
    and work goes on. `faults`: the card's memory management catches a wrong access. Of the last two
    nothing but the kernel's log tells.
    """

    kind: Literal["driver"]
    state: Literal["hangs", "resets", "faults"]
    after_load_s: Seconds


AnyCause = Annotated[
    ContactCause
    | CapacitorCause
    | PlugCause
    | SupplyJointCause
    | MemoryCellCause
    | MemoryLineCause
    | MemoryChipCause
    | ComputeCause
    | RailCause
    | CoolantCause
    | FanCause
    | AirflowCause
    | MountCause
    | PasteCause
    | OutputCause
    | BusCause
    | FirmwareCause
    | DriverCause
    | SensorCause
    | CounterCause,
    Field(discriminator="kind"),
]
"""One entry of a scenario's `causes`; its `kind` says which."""
