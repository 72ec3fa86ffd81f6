"""Bench and card as they were built, before any fault; the tables of a scenario file."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, field_validator, model_validator

from burnin.sim.causes.cause import Celsius, FanNumber, Positive

Cooling = Literal["air", "water_loop", "water_bench", "passive"]
Detect = Literal["each_leg", "common_mode"]
Identifier = Annotated[int, Field(ge=0, lt=0xFFFF)]


class Part(BaseModel):
    """What every table shares: no key beyond the known ones, no silent conversion."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)


class BenchBuild(Part):
    """The host: its slot, its room, and how long the card has been powered at the start.

    `slot_width_lanes` are the lanes wired to the slot, `slot_generation` the port's fastest.
    `lane_reversal`: the port may number lanes from the far end. `needs_presence`: the slot is
    switched on only where the card's presence contacts are seen; many desktop boards ignore them.
    `receiver_detect`: whether the port's transmitters judge each leg of a pair or the mean of both.
    `port_width_lanes` is what the port says of itself where that is more than what is wired.
    `riser_loss_db`: what a riser between slot and card takes at 16 GT/s. `held_generation`: the
    generation that the host's set-up holds the port at. `power_saving`: ``normal``, or
    ``keeps_low`` where the host leaves the link slow under work too. `uplink_width_lanes` with
    `uplink_generation`: the slot lies behind a bridge whose own link to the processor is that.
    `device_beside`: another device sits in a slot beside the card's, of the same bridge or port.
    `retimer_passes`: share of the line rate that a retimer on the way lets through, whatever width
    the link's registers tell.
    `bench_proven`: whether known-good cards have shown what this bench carries; left out, they
    have, unless slot, riser or set-up are what is wrong here; monitor and cable of an output that
    shows a fault are proven only where this says so.
    """

    slot_width_lanes: Literal[1, 2, 4, 8, 16] = 16
    slot_generation: Literal[1, 2, 3, 4, 5] = 4
    lane_reversal: bool = False
    needs_presence: bool = False
    receiver_detect: Detect = "each_leg"
    port_width_lanes: Literal[1, 2, 4, 8, 16] | None = None
    riser_loss_db: Annotated[float, Field(ge=0.0, le=30.0)] = 0.0
    held_generation: Literal[1, 2, 3, 4, 5] | None = None
    power_saving: Literal["normal", "keeps_low"] = "normal"
    uplink_width_lanes: Literal[1, 2, 4, 8, 16] | None = None
    uplink_generation: Literal[1, 2, 3, 4, 5] | None = None
    device_beside: bool = False
    retimer_passes: Annotated[float, Field(gt=0.0, le=1.0)] = 1.0
    bench_proven: bool | None = None
    room_c: Annotated[float, Field(ge=0.0, le=45.0)] = 23.0
    powered_for_s: Annotated[float, Field(ge=0.0, le=3600.0)] = 120.0

    @model_validator(mode="after")
    def _consistent(self) -> BenchBuild:
        if self.port_width_lanes is not None and self.port_width_lanes < self.slot_width_lanes:
            raise ValueError("port_width_lanes must not be below slot_width_lanes")
        if (self.uplink_width_lanes is None) != (self.uplink_generation is None):
            raise ValueError("uplink_width_lanes and uplink_generation belong together")
        return self


class MemoryBuild(Part):
    """The card's memory: size, chips of 32 data lines each, and rate of one-way access."""

    size_gib: Annotated[int, Field(ge=1, le=512)] = 24
    bandwidth_gbs: Positive = 900.0
    chips: Annotated[int, Field(ge=1, le=128)] = 12
    ecc: bool = False

    @property
    def size_bytes(self) -> int:
        """Size in bytes."""
        return self.size_gib << 30


class OutputBuild(Part):
    """One display output, named as the driver names it, e.g. ``DP-1``, ``HDMI-A-1``.

    `monitor` is the name of the monitor plugged in, empty where there is none.
    """

    name: str
    monitor: Annotated[str, Field(max_length=13)] = ""
    extended_edid: bool = True

    @field_validator("name")
    @classmethod
    def _known_kind(cls, name: str) -> str:
        kind, _, number = name.rpartition("-")
        if kind not in ("DP", "HDMI-A", "DVI-D", "VGA") or not number.isdigit():
            raise ValueError("an output is DP-n, HDMI-A-n, DVI-D-n or VGA-n")
        return name


class ThermalBuild(Part):
    """Masses (J/K) and resistances (K/W) that differ from the cooling kind's defaults."""

    die_j_per_k: Positive | None = None
    cooler_j_per_k: Positive | None = None
    memory_j_per_k: Positive | None = None
    board_j_per_k: Positive | None = None
    coolant_j_per_k: Positive | None = None
    die_to_cooler_k_per_w: Positive | None = None
    memory_to_cooler_k_per_w: Positive | None = None
    cooler_to_air_k_per_w: Positive | None = None
    cooler_to_coolant_k_per_w: Positive | None = None
    coolant_to_air_k_per_w: Positive | None = None
    still_air_k_per_w: Positive | None = None
    hotspot_k_per_w: Positive | None = None


class CardBuild(Part):
    """The card as it was built, before any fault.

    `slowdown_c` is where it lowers its clocks, `shutdown_c` where it cuts its own power (both die
    temperature); `memory_max_c` is what the maker allows the memory. `receiver_detect` is how the
    card's own transmitters judge a pair. `memory_clock_mhz` is the clock that its memory works at:
    below `rated_memory_clock_mhz` it is stuck low, and carries less in proportion. `power_plugs`
    (6pin, 8pin, 12v2x6): with 75 W from the slot they bound what the card draws; with none named
    its power is not bounded by plugs. `regains_width`: the link widens again when a lane that it
    gave up comes back (upconfigure). `fans`: how many an air cooler has, each with a tachometer.
    """

    name: str = "Corvane Strata 9"
    vendor_id: Identifier = 0xF5A7
    device_id: Identifier = 0x0009
    subsystem_vendor_id: Identifier = 0xF5A7
    subsystem_id: Identifier = 0x0901
    revision: Annotated[int, Field(ge=0, le=0xFF)] = 0xA1
    firmware_version: str = "CV9.31.00.07"
    serial: str = "5f-a7-00-09-00-00-12-34"
    cooling: Cooling
    width_lanes: Literal[1, 4, 8, 16] = 16
    generation: Literal[1, 2, 3, 4, 5] = 4
    receiver_detect: Detect = "each_leg"
    power_plugs: tuple[Literal["6pin", "8pin", "12v2x6"], ...] = ()
    drops_speed_when_idle: bool = True
    regains_width: bool = False
    fans: FanNumber = 1
    idle_power_w: Positive = 22.0
    max_power_w: Annotated[float, Field(gt=0.0, le=1500.0)] = 450.0
    idle_clock_mhz: Positive = 210.0
    max_clock_mhz: Positive = 2550.0
    memory_clock_mhz: Positive = 1313.0
    rated_memory_clock_mhz: Positive = 1313.0
    peak_tflops: Positive = 60.0
    slowdown_c: Celsius = 90.0
    shutdown_c: Celsius = 100.0
    memory_max_c: Celsius = 105.0
    memory: MemoryBuild = MemoryBuild()
    outputs: tuple[OutputBuild, ...] = ()
    thermal: ThermalBuild = ThermalBuild()

    @property
    def most_memory_clock_mhz(self) -> float:
        """The highest clock of its memory."""
        return max(self.memory_clock_mhz, self.rated_memory_clock_mhz)

    @field_validator("serial")
    @classmethod
    def _fits_its_register(cls, serial: str) -> str:
        digits = serial.replace("-", "")
        if not 1 <= len(digits) <= 16 or not set(digits) <= set("0123456789abcdefABCDEF"):
            raise ValueError("a serial number is at most 16 hexadecimal digits, parted by hyphens")
        return serial

    @field_validator("outputs", "power_plugs", mode="before")
    @classmethod
    def _as_tuple(cls, value: object) -> object:
        return tuple(value) if isinstance(value, list) else value

    @model_validator(mode="after")
    def _consistent(self) -> CardBuild:
        if self.idle_power_w >= self.max_power_w:
            raise ValueError("idle_power_w must be below max_power_w")
        if self.slowdown_c >= self.shutdown_c:
            raise ValueError("slowdown_c must be below shutdown_c")
        if self.idle_clock_mhz >= self.max_clock_mhz:
            raise ValueError("idle_clock_mhz must be below max_clock_mhz")
        names = [output.name for output in self.outputs]
        if len(set(names)) != len(names):
            raise ValueError("two outputs have the same name")
        return self
