"""A scenario: the bench, the card's build, and faults as causes; read from TOML.

A scenario names no outcome: what a cause does to link, heat, memory and outputs follows from the
machine. Ready-made scenarios lie in ``scenarios/``; their comments explain every key.
"""

from __future__ import annotations

from functools import cache
from importlib import resources
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator, model_validator

from burnin.card.simulated.causes import (
    AnyCause,
    Celsius,
    ContactCause,
    CoolantCause,
    FanCause,
    MemoryCellCause,
    MemoryLineCause,
    OutputCause,
    Positive,
    SensorCause,
)
from burnin.connector.contact_map import LAST_CONTACT, contacts, on_connector
from burnin.errors import ScenarioError

Cooling = Literal["air", "water_loop", "water_bench", "passive"]
Identifier = Annotated[int, Field(ge=0, lt=0xFFFF)]


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)


class BenchBuild(_Part):
    """The host: its slot, its room, and how long the card has been powered at the start.

    `slot_width_lanes` are the lanes wired to the slot, `slot_generation` the port's fastest.
    `lane_reversal`: the port may number lanes from the far end. `needs_presence`: the slot is
    switched on only where the card's presence contacts are seen; many desktop boards ignore them.
    `receiver_detect`: whether the transmitters judge each leg of a pair or the mean of both.
    """

    slot_width_lanes: Literal[1, 2, 4, 8, 16] = 16
    slot_generation: Literal[1, 2, 3, 4, 5] = 4
    lane_reversal: bool = False
    needs_presence: bool = False
    receiver_detect: Literal["each_leg", "common_mode"] = "each_leg"
    room_c: Annotated[float, Field(ge=0.0, le=45.0)] = 23.0
    powered_for_s: Annotated[float, Field(ge=0.0, le=3600.0)] = 120.0


class MemoryBuild(_Part):
    """The card's memory: size, chips of 32 data lines each, and rate of one-way access."""

    size_gib: Annotated[int, Field(ge=1, le=512)] = 24
    bandwidth_gbs: Positive = 900.0
    chips: Annotated[int, Field(ge=1, le=128)] = 12
    ecc: bool = False

    @property
    def size_bytes(self) -> int:
        """Size in bytes."""
        return self.size_gib << 30


class OutputBuild(_Part):
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


class ThermalBuild(_Part):
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


class CardBuild(_Part):
    """The card as it was built, before any fault.

    `slowdown_c` is where it lowers its clocks, `shutdown_c` where it cuts its own power (both die
    temperature); `memory_max_c` is what the maker allows the memory.
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
    drops_speed_when_idle: bool = True
    idle_power_w: Positive = 22.0
    max_power_w: Annotated[float, Field(gt=0.0, le=1500.0)] = 450.0
    idle_clock_mhz: Positive = 210.0
    max_clock_mhz: Positive = 2550.0
    memory_clock_mhz: Positive = 1313.0
    peak_tflops: Positive = 60.0
    slowdown_c: Celsius = 90.0
    shutdown_c: Celsius = 100.0
    memory_max_c: Celsius = 105.0
    memory: MemoryBuild = MemoryBuild()
    outputs: tuple[OutputBuild, ...] = ()
    thermal: ThermalBuild = ThermalBuild()

    @field_validator("outputs", mode="before")
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


class Scenario(_Part):
    """One simulated machine: its bench, its card and what is wrong with it (`causes`)."""

    name: Annotated[str, Field(pattern=r"^[a-z0-9_]+$")]
    title: str
    description: str = ""
    bench: BenchBuild = BenchBuild()
    card: CardBuild
    causes: tuple[AnyCause, ...] = ()

    @field_validator("causes", mode="before")
    @classmethod
    def _as_tuple(cls, value: object) -> object:
        return tuple(value) if isinstance(value, list) else value


def _misfit(scenario: Scenario, cause: object) -> tuple[str, object, str] | None:
    """Key, value and rule where a cause names something that this card has not; else None."""
    card = scenario.card
    if isinstance(cause, ContactCause):
        if not on_connector(contacts()[cause.contact], card.width_lanes):
            last = LAST_CONTACT[card.width_lanes]
            rule = f"the edge of an x{card.width_lanes} card ends at contact {last}"
            return "contact", cause.contact, rule
    elif isinstance(cause, OutputCause):
        names = ", ".join(output.name for output in card.outputs) or "none"
        if cause.output not in {output.name for output in card.outputs}:
            return "output", cause.output, f"the card's outputs are: {names}"
    elif isinstance(cause, MemoryCellCause | MemoryLineCause):
        if cause.chip is not None and cause.chip >= card.memory.chips:
            return "chip", cause.chip, f"the card has chips 0 to {card.memory.chips - 1}"
        if isinstance(cause, MemoryCellCause):
            share = 1 if cause.chip is None else card.memory.chips
            size = card.memory.size_bytes // share
            if cause.address >= size:
                return "address", cause.address, f"the memory there ends at {size} bytes"
    elif isinstance(cause, CoolantCause) and card.cooling != "water_loop":
        return "kind", "coolant", f"cooling is {card.cooling}: only water_loop has coolant"
    elif isinstance(cause, FanCause) and card.cooling != "air":
        return "kind", "fan", f"cooling is {card.cooling}: only air has fans on the card"
    elif isinstance(cause, SensorCause) and cause.sensor == "fan" and card.cooling != "air":
        return "sensor", "fan", f"cooling is {card.cooling}: only air has fans on the card"
    return None


def _field_path(loc: tuple[int | str, ...]) -> str:
    """A field's place as ``causes[0].contact``; the tag of a cause's kind is left out."""
    parts = list(loc)
    if len(parts) > 2 and parts[0] == "causes":
        del parts[2]
    text = ""
    for part in parts:
        text += f"[{part}]" if isinstance(part, int) else f".{part}" if text else part
    return text or "(whole file)"


def _shown(value: object) -> str:
    return "a table" if isinstance(value, dict) else repr(value)


def scenario_from(content: dict[str, object], source: str) -> Scenario:
    """A scenario from parsed TOML; `source` is named in the errors.

    Raises ScenarioError with one line a fault: file, path of the field, value, what is allowed.
    """
    try:
        scenario = Scenario.model_validate(content)
    except ValidationError as error:
        lines = []
        for fault in error.errors():
            what = fault["msg"].removeprefix("Value error, ")
            given = "nothing" if fault["type"] == "missing" else _shown(fault["input"])
            lines.append(f"{source}: {_field_path(fault['loc'])}: given {given}: {what}")
        raise ScenarioError("\n".join(lines)) from None
    misfits = []
    for index, cause in enumerate(scenario.causes):
        found = _misfit(scenario, cause)
        if found is not None:
            key, value, rule = found
            misfits.append(f"{source}: causes[{index}].{key}: given {value!r}: {rule}")
    if misfits:
        raise ScenarioError("\n".join(misfits))
    return scenario


@cache
def scenario_names() -> tuple[str, ...]:
    """Names of the ready-made scenarios, sorted."""
    folder = resources.files("burnin.card.simulated") / "scenarios"
    return tuple(
        sorted(entry.name[: -len(".toml")] for entry in folder.iterdir()
               if entry.name.endswith(".toml"))
    )


def load_scenario(name_or_path: str) -> Scenario:
    """A ready-made scenario by name, or any scenario by the path of its TOML file.

    Raises ScenarioError where there is none, or where it is not valid.
    """
    import tomllib

    if name_or_path in scenario_names():
        folder = resources.files("burnin.card.simulated") / "scenarios"
        source = f"{name_or_path}.toml"
        data = (folder / source).read_bytes()
    else:
        source = name_or_path
        try:
            data = Path(name_or_path).read_bytes()
        except OSError as error:
            known = ", ".join(scenario_names())
            raise ScenarioError(
                f"{name_or_path}: no such scenario ({error.strerror or error});"
                f" give a path of a TOML file or one of: {known}"
            ) from None
    try:
        content = tomllib.loads(data.decode("utf-8"))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise ScenarioError(f"{source}: not valid TOML: {error}") from None
    return scenario_from(content, source)
