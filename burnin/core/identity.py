"""Who a card says it is, and the thresholds that it names."""

from __future__ import annotations

from dataclasses import dataclass

from burnin.core.reading import NotMeasured, ReadingReason


@dataclass(frozen=True)
class Bar:
    """One base address register's window: `size_bytes` of address space, number 0 to 5."""

    number: int
    size_bytes: int
    prefetchable: bool


@dataclass(frozen=True)
class Identity:
    """Who the card says it is. Numeric ids are as in PCI configuration space.

    `board_part_number` is what the maker calls the board, where the card keeps it.
    """

    address: str
    vendor_id: int
    device_id: int
    subsystem_vendor_id: int | NotMeasured
    subsystem_id: int | NotMeasured
    revision: int | NotMeasured
    class_code: int
    name: str | NotMeasured
    vendor_name: str | NotMeasured
    driver: str | NotMeasured
    driver_version: str | NotMeasured
    firmware_version: str | NotMeasured
    memory_bytes: int | NotMeasured
    serial: str | NotMeasured
    uuid: str | NotMeasured
    bars: tuple[Bar, ...]
    simulated: bool = False
    board_part_number: str | NotMeasured = NotMeasured(ReadingReason.NOT_READ())  # noqa: RUF009


@dataclass(frozen=True)
class TemperatureLimits:
    """Thresholds that the card itself names, in °C."""

    slowdown_c: float | NotMeasured
    shutdown_c: float | NotMeasured
    memory_max_c: float | NotMeasured
