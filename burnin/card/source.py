"""What a source of a card's values is: sysfs is one, NVML is one, a shop may add its own.

A source is a member of the seam `burnin.sources` (`burnin.core.seams`). Asked for a card, it gives
a reader or says why it has none. The reader says which values it offers and how well it knows each;
`burnin.card.merge` takes every value from whoever knows it best and measured it.

Beyond single values a reader may answer any of the capabilities of `burnin.card.capabilities`
(link, counters, outputs …): it is asked for those that it has.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, fields
from typing import Protocol, runtime_checkable

from burnin.card.files import BenchFiles
from burnin.core.identity import Bar, Identity, TemperatureLimits
from burnin.core.meaning import Source
from burnin.core.ratings import OwnRatings
from burnin.core.reading import NotMeasured
from burnin.core.sample import TELEMETRY_NAMES, Slowdown

Value = str | int | float | tuple[Slowdown, ...]
"""What a single value may be; numbers in the unit that ends the value's name."""

WHOLE_IDENTITY = ("address", "bars", "simulated")
IDENTITY_NAMES = tuple(f.name for f in fields(Identity) if f.name not in WHOLE_IDENTITY)
"""Values that say who a card is."""
LIMIT_NAMES = tuple(f.name for f in fields(TemperatureLimits))
"""Thresholds that a card names, in °C."""
RATING_NAMES = tuple(f.name for f in fields(OwnRatings))
"""What a card was made for."""
FREE_MEMORY = "free_memory_bytes"
FAN_COUNT = "fan_count"
"""How many fans a card has, read or not."""
LINK_NAMES = ("speed_gts", "width_lanes", "max_speed_gts", "max_width_lanes")
"""What a reader that answers `ReportsLink` tells of the card's end, by its names in `LinkEnd`."""
VALUE_NAMES = (
    *(*TELEMETRY_NAMES, *IDENTITY_NAMES, *LIMIT_NAMES, *RATING_NAMES),
    *(FREE_MEMORY, FAN_COUNT),
)
"""All single values that a reader may offer."""

TEXT_NAMES = frozenset(
    (
        *("name", "vendor_name", "driver", "driver_version", "firmware_version", "serial", "uuid"),
        "board_part_number",
    )
)
"""Values that are text."""
WHOLE_NAMES = (frozenset(IDENTITY_NAMES) - TEXT_NAMES) | {FREE_MEMORY, FAN_COUNT}
"""Values that are whole numbers; those in neither set may have fractions."""

BEST, USUAL, LAST = 20, 10, 0
"""How well a reader knows a value; the highest that measured it is taken. NVML offers at `BEST`,
the kernel's files at `USUAL`; a source of a shop's own may go higher still."""


@dataclass(frozen=True)
class CardPlace:
    """A card as it is found on the bus, before anything of it is read.

    `this_machine`: `files` are those of the machine that this program runs on, so that a library
    which asks the machine's own driver speaks of the same card. `simulated`: a simulated machine
    answers the files.
    """

    files: BenchFiles
    address: str
    vendor_id: int | None
    this_machine: bool = False
    simulated: bool = False


class Reader(Protocol):
    """Reads one card."""

    @property
    def offers(self) -> Mapping[str, int]:
        """Names of the values (`VALUE_NAMES`, `LINK_NAMES`) and how well each is known."""
        ...

    def read(self, names: Collection[str]) -> Mapping[str, Value | NotMeasured]:
        """The values of these names as they are now, each or the reason why there is none."""
        ...

    def source(self, name: str) -> Source:
        """Where the value of this name is from, for the record."""
        ...

    def present(self) -> bool:
        """Whether the card still answers; True where this reader cannot tell."""
        ...


class SensorSource(Protocol):
    """A member of the seam: finds a reader for a card."""

    @property
    def name(self) -> str:
        """The source's name, as it is registered."""
        ...

    def probe(self, place: CardPlace) -> Reader | NotMeasured:
        """A reader of this card, or why this source has none."""
        ...


@runtime_checkable
class FindsCards(Protocol):
    """A source that knows which cards are on the bench."""

    def find(self, files: BenchFiles) -> Mapping[str, int | None]:
        """Address and PCI vendor number (None where unread) of each card."""
        ...


@runtime_checkable
class DescribesBench(Protocol):
    """A source that knows facts of the bench or of itself, for the record."""

    def describe(
        self, files: BenchFiles, *, this_machine: bool
    ) -> Mapping[str, str | NotMeasured]:
        """Facts by name."""
        ...


@runtime_checkable
class ShowsWindows(Protocol):
    """A reader that knows the card's windows in the bench's address space."""

    def windows(self) -> tuple[Bar, ...]:
        """Each base address register that holds memory."""
        ...
