"""Cards of any vendor, read from what the Linux kernel shows in sysfs."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from types import MappingProxyType

from burnin.card.attributes import Attributes
from burnin.card.capabilities import Counter, Link, Output, ProcessUse
from burnin.card.file_errors import GONE
from burnin.card.files import BenchFiles
from burnin.card.pci.config_space import ConfigurationSpace
from burnin.card.source import (
    FAN_COUNT,
    FREE_MEMORY,
    IDENTITY_NAMES,
    LIMIT_NAMES,
    LINK_NAMES,
    RATING_NAMES,
    USUAL,
    VALUE_NAMES,
    Value,
)
from burnin.card.sources.driver_levels import FILES as LEVEL_FILES
from burnin.card.sources.driver_levels import highest_mhz
from burnin.card.sources.drm import read_outputs
from burnin.card.sources.drm_clients import drm_use
from burnin.card.sources.hwmon import SIGNALS, Sensors
from burnin.card.sources.link import current_link, read_counters, read_link
from burnin.card.sources.linux_bench import describe
from burnin.card.sources.meanings import LinuxReason, LinuxSourceOf
from burnin.card.sources.pci_devices import (
    DEVICES,
    Ends,
    configuration_space,
    find_cards,
    link_ends,
    read_bars,
    read_identity,
)
from burnin.card.sources.pci_names import PciNames
from burnin.card.sources.position import read_position
from burnin.card.sources.throttle import ThrottleFiles
from burnin.card.topology import CardPosition
from burnin.core.identity import Bar, Identity, TemperatureLimits
from burnin.core.meaning import Source
from burnin.core.ratings import OwnRatings
from burnin.core.reading import NotMeasured, known
from burnin.core.sample import TELEMETRY_NAMES, Resolution, Telemetry

OFFERS: Mapping[str, int] = MappingProxyType(
    dict.fromkeys((name for name in (*VALUE_NAMES, *LINK_NAMES) if name != "uuid"), USUAL)
)
"""Everything but a UUID: the kernel shows none."""
_VENDOR_ID_BYTES = 4


class LinuxCard:
    """One card, by its PCI address; every call reads anew.

    Answers every capability of a card by itself, and is the reader of the source ``linux``.
    """

    offers = OFFERS

    def __init__(
        self,
        files: BenchFiles,
        address: str,
        names: PciNames | None = None,
        *,
        simulated: bool = False,
    ) -> None:
        self.address = address
        self._files = files
        self._folder = f"{DEVICES}/{address}"
        self._attributes = Attributes(files, self._folder)
        self._names = PciNames(files) if names is None else names
        self._sensors = Sensors(files, self._folder)
        self._throttle = ThrottleFiles(files, self._folder)
        self._ends: Ends | None = None
        self._simulated = simulated

    def identity(self) -> Identity:
        """Identity as read now; an id that cannot be read at all is 0."""
        return read_identity(self._files, self.address, self._names, simulated=self._simulated)

    def windows(self) -> tuple[Bar, ...]:
        """Each base address register that holds memory."""
        return read_bars(self._attributes)

    def vendor_id(self) -> int | None:
        """The vendor as the kernel remembers it; None where the card's folder is gone."""
        return known(self._attributes.hexadecimal("vendor"))

    def present(self) -> bool:
        """Whether the card answers: its folder is there and its vendor id does not read all ones.

        The kernel remembers ``vendor`` from start-up, so the register itself is read as well.
        """
        if self.vendor_id() in (None, 0xFFFF):
            return False
        try:
            ids = self._files.read_bytes(f"{self._folder}/config", _VENDOR_ID_BYTES)
        except OSError as error:
            # Of the others none says that it is gone: that it does not answer is told elsewhere.
            return error.errno not in GONE
        return bool(ids) and not ConfigurationSpace(ids).gone

    def free_memory_bytes(self) -> int | NotMeasured:
        """All memory less what is used (``mem_info_vram_used``, documented for amdgpu)."""
        total = self._attributes.integer("mem_info_vram_total")
        used = self._attributes.integer("mem_info_vram_used")
        if isinstance(total, NotMeasured):
            return total
        return used if isinstance(used, NotMeasured) else max(0, total - used)

    def memory_errors(self) -> tuple[Counter, ...] | NotMeasured:
        """Not measured: sysfs has no such counter that all drivers share."""
        return NotMeasured(LinuxReason.NO_MEMORY_ERROR_COUNTERS())

    def configuration_space(self) -> ConfigurationSpace | NotMeasured:
        """The bytes that the privilege at hand allows."""
        return configuration_space(self._files, self._folder)

    def configuration_space_at(self, end: str) -> ConfigurationSpace | NotMeasured:
        """The bytes of one end of the slot's link, ``card`` or ``port``: each holds the lane error
        and margin registers of its own receivers."""
        ends = self._link_ends()
        folder = ends.card if end == "card" else ends.port
        if isinstance(folder, NotMeasured):
            return folder
        return configuration_space(self._files, folder)

    def link(self) -> Link:
        """Both ends as read now."""
        return read_link(self._files, self._link_ends())

    def position(self) -> CardPosition | NotMeasured:
        """The ports between the card and the processor."""
        return read_position(self._files, self._link_ends(), self._names)

    def process_use(self, pid: int) -> ProcessUse | NotMeasured:
        """What the driver shows of a process in its open files."""
        return drm_use(self._files, pid, self.address)

    def error_counters(self) -> tuple[Counter, ...] | NotMeasured:
        """Counters of both ends."""
        return read_counters(self._files, self._link_ends())

    def outputs(self) -> tuple[Output, ...] | NotMeasured:
        """Every output with its state; empty where the card has none fitted."""
        class_code = known(self._attributes.hexadecimal("class"))
        return read_outputs(self._files, self._folder, class_code)

    def telemetry(self) -> Telemetry:
        """One reading of all sensors; one that fails does not keep the others from being read."""
        found = self._telemetry(TELEMETRY_NAMES)
        return Telemetry(**found)  # type: ignore[arg-type]  # by name, each of its own type

    def _telemetry(self, names: Collection[str]) -> dict[str, Value | NotMeasured]:
        """Values of telemetry by name; each is read once."""
        found: dict[str, Value | NotMeasured] = {}
        self._sensors.find()
        for name in names:
            if name in SIGNALS:
                found[name] = self._sensors.read(name)
        if "busy_pct" in names:
            found["busy_pct"] = self._attributes.scaled("gpu_busy_percent", 1.0)
        if "link_speed_gts" in names or "link_width_lanes" in names:
            speed, width = current_link(self._files, self._link_ends())
            found["link_speed_gts"], found["link_width_lanes"] = speed, width
        if "throttle_reasons" in names:
            found["throttle_reasons"] = self._throttle.read()
        return found

    def read(self, names: Collection[str]) -> Mapping[str, Value | NotMeasured]:
        """The values of these names; `burnin.card.source.Reader` says which there are."""
        found: dict[str, Value | NotMeasured] = {}
        if any(name in TELEMETRY_NAMES for name in names):
            found |= self._telemetry([name for name in names if name in TELEMETRY_NAMES])
        if any(name in IDENTITY_NAMES for name in names):
            identity = self.identity()
            found |= {n: getattr(identity, n) for n in names if n in IDENTITY_NAMES}
        if any(name in LIMIT_NAMES for name in names):
            limits = self.temperature_limits()
            found |= {n: getattr(limits, n) for n in names if n in LIMIT_NAMES}
        if any(name in RATING_NAMES for name in names):
            ratings = self.ratings()
            found |= {n: getattr(ratings, n) for n in names if n in RATING_NAMES}
        if FREE_MEMORY in names:
            found[FREE_MEMORY] = self.free_memory_bytes()
        if FAN_COUNT in names:
            found[FAN_COUNT] = self.fan_count()
        return found

    def source(self, name: str) -> Source:
        """Which of the kernel's files tell a value."""
        if name in (*SIGNALS, FAN_COUNT) or name in LIMIT_NAMES or name.endswith("power_limit_w"):
            return LinuxSourceOf.HWMON()
        if name in ("link_speed_gts", "link_width_lanes"):
            return LinuxSourceOf.LINK_ATTRIBUTES(address=self._link_ends().card.rsplit("/", 1)[-1])
        return LinuxSourceOf.ATTRIBUTES()

    def sources(self) -> Mapping[str, Source]:
        """Where each value that is measured now is from."""
        names = [name for name in OFFERS if name in VALUE_NAMES]
        return {
            name: self.source(name)
            for name, value in self.read(names).items()
            if not isinstance(value, NotMeasured)
        }

    def resolution(self) -> Resolution:
        """The steps in which the sensors answer.

        hwmon counts in thousandths and millionths, but drivers fill them from whole degrees and
        watts of the card's firmware (common practice, no source).
        """
        return Resolution(
            temp_c=1.0,
            power_w=1.0,
            refresh_s=0.1,
            sources={
                "temp_c": LinuxSourceOf.WHOLE_DEGREES(),
                "power_w": LinuxSourceOf.WHOLE_WATTS(),
                "refresh_s": LinuxSourceOf.REFRESH_ASSUMED(),
            },
        )

    def fan_count(self) -> int | NotMeasured:
        """How many fans the driver has files for."""
        return self._sensors.fan_count()

    def temperature_limits(self) -> TemperatureLimits:
        """Thresholds that the driver names beside its temperatures."""
        return self._sensors.limits()

    def ratings(self) -> OwnRatings:
        """What the driver names; the kernel shows no width of memory that all drivers share."""
        limits = self._sensors.power_limits()
        clocks = {n: highest_mhz(self._attributes, file) for n, file in LEVEL_FILES.items()}
        untold = NotMeasured(LinuxReason.NO_MEMORY_WIDTH())
        return OwnRatings(**limits, **clocks, memory_bus_bits=untold, memory_per_clock=untold)

    def _link_ends(self) -> Ends:
        if self._ends is None:
            self._ends = link_ends(self._files, self._folder)
        return self._ends


class LinuxBench:
    """The bench as its kernel shows it."""

    def __init__(self, files: BenchFiles, *, simulated: bool = False) -> None:
        self._files = files
        self._names = PciNames(files)
        self._simulated = simulated

    def linux_cards(self) -> tuple[LinuxCard, ...]:
        """Every card on the bus, in bus order; none where the bus cannot be listed."""
        addresses = find_cards(self._files)
        if isinstance(addresses, NotMeasured):
            return ()
        return tuple(
            LinuxCard(self._files, address, self._names, simulated=self._simulated)
            for address in addresses
        )

    def cards(self) -> tuple[LinuxCard, ...]:
        """The same cards."""
        return self.linux_cards()

    def description(self) -> dict[str, str | NotMeasured]:
        """Facts for the record."""
        return describe(self._files)
