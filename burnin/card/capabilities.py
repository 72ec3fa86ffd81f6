"""What the rest of the tool may ask of a card: narrow capabilities, each a Protocol.

A stage's signature names the capabilities it needs. A value that the card or a privilege does not
offer is a `NotMeasured` with the reason, in the value's place. Several sources answer each a part
(`burnin.card.source`); `burnin.card.merge` makes one card of them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol, runtime_checkable

from burnin.card.pci.config_space import ConfigurationSpace
from burnin.card.topology import CardPosition
from burnin.core.identity import Identity, TemperatureLimits
from burnin.core.meaning import Source
from burnin.core.ratings import OwnRatings
from burnin.core.reading import NotMeasured
from burnin.core.sample import Resolution, Telemetry


@dataclass(frozen=True)
class LinkEnd:
    """One end of the link: what it runs at now and the most it can."""

    speed_gts: float | NotMeasured
    width_lanes: int | NotMeasured
    max_speed_gts: float | NotMeasured
    max_width_lanes: int | NotMeasured
    source: Source


@dataclass(frozen=True)
class Link:
    """Both ends of the card's link; `port` is the port above the card."""

    card: LinkEnd
    port: LinkEnd | NotMeasured


@dataclass(frozen=True)
class Counter:
    """An error counter at one end of the link; `modulus` is where it wraps, None if unbounded.

    `end` is ``card`` or ``port``: an error counts at the end that sees it.
    """

    name: str
    end: str
    value: int
    modulus: int | None
    source: Source


@dataclass(frozen=True)
class Output:
    """One display connector: its state as the driver tells it and the EDID bytes behind it.

    `forced`: by hand or by the kernel's command line the state was set to this (``on``, ``off``,
    ``digital``), whatever is plugged in; empty: not so, or not to be read. `edid_set`: the EDID was
    given by hand in the same way.
    """

    name: str
    status: str | NotMeasured
    edid: bytes | NotMeasured
    modes: tuple[str, ...]
    enabled: str | NotMeasured
    forced: str = ""
    edid_set: bool = False


class Enumerates(Protocol):
    """Tells who it is."""

    def identity(self) -> Identity:
        """Identity as read now."""
        ...

    def present(self) -> bool:
        """Whether the card still answers (a card that fell off the bus reads all ones)."""
        ...


@runtime_checkable
class HasConfigurationSpace(Protocol):
    """Shows its PCI configuration space."""

    def configuration_space(self) -> ConfigurationSpace | NotMeasured:
        """The bytes that the privilege at hand allows: 64, 256 or 4,096."""
        ...

    def configuration_space_at(self, end: str) -> ConfigurationSpace | NotMeasured:
        """The same of one end of the slot's link, ``card`` or ``port``."""
        ...


@runtime_checkable
class ReportsLink(Protocol):
    """Tells speed and width of its link."""

    def link(self) -> Link:
        """Both ends as read now."""
        ...


@runtime_checkable
class TellsPosition(Protocol):
    """Tells where in the machine it sits."""

    def position(self) -> CardPosition | NotMeasured:
        """The ports between the card and the processor, with their links as they are now."""
        ...


@dataclass(frozen=True)
class ProcessUse:
    """What a card's driver says of one process: whether it uses the card, and for how long it has
    kept it busy (ns; None where only its presence is told)."""

    there: bool
    busy_ns: int | None
    source: Source


@runtime_checkable
class TellsProcesses(Protocol):
    """Tells which process works it."""

    def process_use(self, pid: int) -> ProcessUse | NotMeasured:
        """What the driver says of this process now."""
        ...


@runtime_checkable
class CountsErrors(Protocol):
    """Counts errors of its link."""

    def error_counters(self) -> tuple[Counter, ...] | NotMeasured:
        """Every counter at hand; only differences speak of a run."""
        ...


@runtime_checkable
class CountsMemoryErrors(Protocol):
    """Counts errors of its memory."""

    def memory_errors(self) -> tuple[Counter, ...] | NotMeasured:
        """Counters of the memory's own protection (ECC); only differences speak of a run."""
        ...


class HasMemory(CountsMemoryErrors, Protocol):
    """Tells of its memory."""

    def free_memory_bytes(self) -> int | NotMeasured:
        """What nothing uses now."""
        ...


@runtime_checkable
class DetectsDisplays(Protocol):
    """Has display outputs, or says that it has none."""

    def outputs(self) -> tuple[Output, ...] | NotMeasured:
        """Every output with its state; an empty tuple: the card has no output fitted."""
        ...


@runtime_checkable
class TellsSteps(Protocol):
    """Tells in which steps its sensors answer."""

    def resolution(self) -> Resolution:
        """The steps, with their sources."""
        ...


@runtime_checkable
class CountsFans(Protocol):
    """Tells how many fans it has."""

    def fan_count(self) -> int | NotMeasured:
        """How many there are, also those whose speed nobody can read."""
        ...


class ReadsTelemetry(TellsSteps, Protocol):
    """Tells temperatures, power, clocks, fans and link as they are now."""

    def telemetry(self) -> Telemetry:
        """One reading of all sensors."""
        ...

    def temperature_limits(self) -> TemperatureLimits:
        """Thresholds that the card names."""
        ...


@runtime_checkable
class TellsRatings(Protocol):
    """Tells what it was made for."""

    def ratings(self) -> OwnRatings:
        """Its own power limit, highest clocks and width of its memory, as told now."""
        ...


class NamesSources(Protocol):
    """Tells where its values are from."""

    def sources(self) -> Mapping[str, Source]:
        """Where each value of telemetry, identity and limits is from, by its name.

        One that is not measured now is left out: its own reason says why.
        """
        ...


class Card(
    Enumerates,
    HasConfigurationSpace,
    ReportsLink,
    TellsPosition,
    TellsProcesses,
    CountsErrors,
    HasMemory,
    DetectsDisplays,
    ReadsTelemetry,
    CountsFans,
    TellsRatings,
    NamesSources,
    Protocol,
):
    """All capabilities together; one that a card lacks answers `NotMeasured`."""


class Bench(Protocol):
    """The host computer, as far as it matters: which cards it holds."""

    def cards(self) -> tuple[Card, ...]:
        """Every display or processing accelerator on the bus, in bus order."""
        ...

    def description(self) -> dict[str, str | NotMeasured]:
        """Facts for the record: operating system, kernel, processor, boot id."""
        ...
