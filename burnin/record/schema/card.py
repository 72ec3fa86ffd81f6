"""What run.json holds of the card: who it says it is, its thresholds, the steps of its sensors."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from burnin.core.identity import Bar
from burnin.core.reading import NotMeasured, ReadingReason
from burnin.record.schema.json_types import KeptAs, NotMeasuredInJson, SourceInJson


class Keys(BaseModel):
    """An object of run.json; what it does not know it passes over."""

    model_config = ConfigDict(frozen=True, extra="ignore", use_attribute_docstrings=True)


class BarKeys(Keys):
    """One window of a base address register."""

    number: int
    """0 to 5"""
    size_bytes: int
    """size of the window"""
    prefetchable: bool
    """whether it may be read ahead"""


class CardKeys(Keys):
    """Who the card said it is; numbers as in PCI configuration space."""

    address: str
    """PCI address"""
    vendor_id: int
    """vendor number"""
    device_id: int
    """device number"""
    subsystem_vendor_id: int | NotMeasuredInJson
    """vendor of the board"""
    subsystem_id: int | NotMeasuredInJson
    """number of the board"""
    revision: int | NotMeasuredInJson
    """revision of the chip"""
    class_code: int
    """class, sub-class and interface"""
    name: str | NotMeasuredInJson
    """name as the driver tells it"""
    vendor_name: str | NotMeasuredInJson
    """name of the vendor in the bench's list of PCI numbers"""
    driver: str | NotMeasuredInJson
    """kernel driver"""
    driver_version: str | NotMeasuredInJson
    """its version"""
    firmware_version: str | NotMeasuredInJson
    """version of the card's firmware"""
    memory_bytes: int | NotMeasuredInJson
    """size of the card's memory"""
    serial: str | NotMeasuredInJson
    """serial number"""
    uuid: str | NotMeasuredInJson
    """the driver's own name of this one card"""
    bars: tuple[Annotated[Bar, KeptAs(BarKeys, Bar)], ...]
    """windows of its base address registers"""
    simulated: bool = False
    """whether it is simulated"""
    board_part_number: str | NotMeasuredInJson = NotMeasured(ReadingReason.NOT_READ())
    """what the maker calls the board"""


class TemperatureLimitKeys(Keys):
    """Thresholds that the card itself names."""

    slowdown_c: float | NotMeasuredInJson
    """above it the card slows down"""
    shutdown_c: float | NotMeasuredInJson
    """above it the card switches off"""
    memory_max_c: float | NotMeasuredInJson
    """most that its memory may have"""


class SensorStepKeys(Keys):
    """Steps in which the card's sensors answer; they give the uncertainty of what is read."""

    temp_c: float = 1.0
    """step of temperatures"""
    power_w: float = 1.0
    """step of power"""
    refresh_s: float = 0.1
    """time between two new values"""
    sources: dict[str, SourceInJson] = Field(default_factory=dict)
    """where each step is known from, by name"""
