"""One card from all readers: NVML where it measured, sysfs otherwise, each value's source told."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import TypeVar

from burnin.card.card import (
    Bench,
    Card,
    Counter,
    Identity,
    Link,
    LinkEnd,
    Output,
    TemperatureLimits,
)
from burnin.card.files import BenchFiles
from burnin.card.pci.config_space import ConfigurationSpace
from burnin.card.sources.linux_card import LinuxBench, LinuxCard
from burnin.card.sources.nvml import VENDOR_ID, NvmlCard, open_card, open_library
from burnin.core.reading import NotMeasured
from burnin.core.sample import Resolution, Telemetry

T = TypeVar("T")


class CombinedCard:
    """A card read through sysfs and, where there is one, through NVML."""

    def __init__(self, linux: LinuxCard, nvml: NvmlCard | NotMeasured) -> None:
        self._linux = linux
        self._nvml = nvml

    @property
    def nvml(self) -> NotMeasured | None:
        """Why NVML does not help with this card; None where it does."""
        return self._nvml if isinstance(self._nvml, NotMeasured) else None

    def identity(self) -> Identity:
        """Identity as read now; the numbers come from sysfs, the driver's knowledge from NVML."""
        seen = self._linux.identity()
        if isinstance(self._nvml, NotMeasured):
            return seen
        return replace(
            seen,
            name=_first(self._nvml.name(), seen.name),
            driver_version=_first(self._nvml.driver_version(), seen.driver_version),
            firmware_version=_first(self._nvml.firmware_version(), seen.firmware_version),
            memory_bytes=_first(self._nvml.memory_bytes(), seen.memory_bytes),
            serial=_first(self._nvml.serial(), seen.serial),
            uuid=_first(self._nvml.uuid(), seen.uuid),
        )

    def present(self) -> bool:
        """Whether the card answers all its readers."""
        if not self._linux.present():
            return False
        return isinstance(self._nvml, NotMeasured) or self._nvml.present()

    def configuration_space(self) -> ConfigurationSpace | NotMeasured:
        """The bytes that the privilege at hand allows."""
        return self._linux.configuration_space()

    def configuration_space_at(self, end: str) -> ConfigurationSpace | NotMeasured:
        """The bytes of one end of the slot's link, ``card`` or ``port``."""
        return self._linux.configuration_space_at(end)

    def link(self) -> Link:
        """Both ends; what the card can do at most is its own register's word where sysfs has it."""
        link = self._linux.link()
        if isinstance(self._nvml, NotMeasured):
            return link
        seen, told = link.card, self._nvml.link_end()
        current = (told.speed_gts, told.width_lanes)
        most = (seen.max_speed_gts, seen.max_width_lanes)
        by_nvml = any(not isinstance(value, NotMeasured) for value in current)
        by_sysfs = any(not isinstance(value, NotMeasured) for value in most)
        end = LinkEnd(
            speed_gts=_first(told.speed_gts, seen.speed_gts),
            width_lanes=_first(told.width_lanes, seen.width_lanes),
            max_speed_gts=_first(seen.max_speed_gts, told.max_speed_gts),
            max_width_lanes=_first(seen.max_width_lanes, told.max_width_lanes),
            source=f"now: {(told if by_nvml else seen).source}; "
            f"at most: {(seen if by_sysfs else told).source}",
        )
        return Link(end, link.port)

    def error_counters(self) -> tuple[Counter, ...] | NotMeasured:
        """Counters of all readers; each tells its source."""
        seen = self._linux.error_counters()
        if isinstance(self._nvml, NotMeasured):
            return seen
        told = self._nvml.error_counters()
        if isinstance(seen, NotMeasured):
            return told or NotMeasured(f"{seen.reason}; NVML gives none for this card")
        return seen + told

    def free_memory_bytes(self) -> int | NotMeasured:
        """Memory that nothing uses now."""
        seen = self._linux.free_memory_bytes()
        if isinstance(self._nvml, NotMeasured):
            return seen
        return _first(self._nvml.free_memory_bytes(), seen)

    def memory_errors(self) -> tuple[Counter, ...] | NotMeasured:
        """Counters of the card's memory protection (ECC)."""
        if isinstance(self._nvml, NotMeasured):
            return NotMeasured(f"read through NVML alone: {self._nvml.reason}")
        counters = self._nvml.memory_errors()
        return counters or NotMeasured("the card does not count memory errors (NVML)")

    def outputs(self) -> tuple[Output, ...] | NotMeasured:
        """Every output with its state."""
        return self._linux.outputs()

    def telemetry(self) -> Telemetry:
        """One reading of all sensors."""
        if isinstance(self._nvml, NotMeasured):
            return self._linux.telemetry()
        told = self._nvml.telemetry()
        missing = [f.name for f in fields(told) if _is_missing(told, f.name)]
        if not missing:
            return told
        seen = self._linux.telemetry()
        better = {name: getattr(seen, name) for name in missing if not _is_missing(seen, name)}
        return replace(told, **better)

    def resolution(self) -> Resolution:
        """The steps in which the sensors answer."""
        return (self._linux if isinstance(self._nvml, NotMeasured) else self._nvml).resolution()

    def temperature_limits(self) -> TemperatureLimits:
        """Thresholds that the card names."""
        seen = self._linux.temperature_limits()
        if isinstance(self._nvml, NotMeasured):
            return seen
        told = self._nvml.temperature_limits()
        return TemperatureLimits(
            slowdown_c=_first(told.slowdown_c, seen.slowdown_c),
            shutdown_c=_first(told.shutdown_c, seen.shutdown_c),
            memory_max_c=_first(told.memory_max_c, seen.memory_max_c),
        )


class CombinedBench:
    """The bench whose cards of NVIDIA are read through NVML as well."""

    def __init__(self, linux: LinuxBench) -> None:
        self._linux = linux
        self._library = open_library()

    def cards(self) -> tuple[Card, ...]:
        """Every card on the bus, in bus order."""
        return tuple(CombinedCard(card, self._nvml_of(card)) for card in self._linux.linux_cards())

    def _nvml_of(self, card: LinuxCard) -> NvmlCard | NotMeasured:
        if card.vendor_id() != VENDOR_ID:
            return NotMeasured("NVML serves cards of NVIDIA alone")
        if isinstance(self._library, NotMeasured):
            return self._library
        return open_card(self._library, card.address)

    def description(self) -> dict[str, str]:
        """Facts for the record, with NVML's version or why it is not used."""
        facts = self._linux.description()
        if isinstance(self._library, NotMeasured):
            return facts | {"nvml": f"not used: {self._library.reason}"}
        try:
            version = str(self._library.nvmlSystemGetNVMLVersion())
        except self._library.NVMLError as error:
            version = f"version not told: {error}"
        return facts | {"nvml": version}


def open_bench(files: BenchFiles, with_nvml: bool, *, simulated: bool = False) -> Bench:
    """The bench behind `files`; `with_nvml` only where the files are those of this very machine."""
    linux = LinuxBench(files, simulated=simulated)
    return CombinedBench(linux) if with_nvml else linux


def _first(preferred: T | NotMeasured, other: T | NotMeasured) -> T | NotMeasured:
    """The preferred value where it was measured; the other, or its reason, where not."""
    if not isinstance(preferred, NotMeasured):
        return preferred
    return preferred if isinstance(other, NotMeasured) else other


def _is_missing(telemetry: Telemetry, name: str) -> bool:
    return isinstance(getattr(telemetry, name), NotMeasured)
