"""What NVML tells of a card of NVIDIA beyond what the kernel shows.

Memory temperature, power, energy, reasons for lower clocks, link and memory counters. Only
questions are asked; nothing is set.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from types import MappingProxyType
from typing import Any

from burnin.card.capabilities import Counter, Link, LinkEnd, ProcessUse
from burnin.card.rates import RATE_GTS
from burnin.card.source import BEST, FAN_COUNT, FREE_MEMORY, LAST, LIMIT_NAMES, RATING_NAMES, Value
from burnin.card.sources import nvml_values as told
from burnin.card.sources.meanings import NvmlReason, NvmlSourceOf
from burnin.card.sources.nvml_fans import NvmlFans
from burnin.card.sources.nvml_library import NvmlQuestions, scaled
from burnin.core.identity import TemperatureLimits
from burnin.core.meaning import Source
from burnin.core.ratings import OwnRatings
from burnin.core.reading import NotMeasured
from burnin.core.sample import TELEMETRY_NAMES, Resolution, Slowdown, Telemetry

_FIELDS_OF: dict[str, tuple[int, ...]] = {
    "power_w": (told.POWER_INSTANT, told.POWER_AVERAGE),
    "memory_temp_c": (told.MEMORY_TEMP,),
    "energy_j": (told.TOTAL_ENERGY,),
}
"""Values of telemetry that are asked for together, in one question."""
_IDENTITY = (
    *("name", "uuid", "serial", "firmware_version", "driver_version", "memory_bytes"),
    "board_part_number",
)

OFFERS: Mapping[str, int] = MappingProxyType({
    **dict.fromkeys((*TELEMETRY_NAMES, *_IDENTITY, *LIMIT_NAMES, *RATING_NAMES, FREE_MEMORY), BEST),
    FAN_COUNT: BEST,
    "speed_gts": BEST,
    "width_lanes": BEST,
    # the maximum width is that of card and bench together: NVML gives no other
    "max_speed_gts": LAST,
    "max_width_lanes": LAST,
})


class NvmlCard:
    """One card of NVIDIA as its driver's library tells it."""

    offers = OFFERS

    def __init__(self, library: Any, handle: Any) -> None:
        self._questions = NvmlQuestions(library, handle)
        fans = NvmlFans(self._questions)
        ask = self._questions
        self._readers: dict[str, Callable[[], Value | NotMeasured]] = {
            "gpu_temp_c": lambda: ask.number("nvmlDeviceGetTemperature", 0),  # …TEMPERATURE_GPU
            "hotspot_temp_c": lambda: NotMeasured(NvmlReason.NO_HOTSPOT()),
            "core_clock_mhz": lambda: ask.number("nvmlDeviceGetClockInfo", 0),  # …CLOCK_GRAPHICS
            "memory_clock_mhz": lambda: ask.number("nvmlDeviceGetClockInfo", 2),  # …CLOCK_MEM
            "busy_pct": self._busy,
            "link_speed_gts": self._speed_now,
            "link_width_lanes": self._width_now,
            "throttle_reasons": self.throttle_reasons,
            "name": lambda: ask.text("nvmlDeviceGetName"),
            "uuid": lambda: ask.text("nvmlDeviceGetUUID"),
            # consumer cards tell no serial number
            "serial": lambda: ask.text("nvmlDeviceGetSerial"),
            "board_part_number": lambda: ask.text("nvmlDeviceGetBoardPartNumber"),
            "firmware_version": lambda: ask.text("nvmlDeviceGetVbiosVersion"),
            "driver_version": self._driver_version,
            "memory_bytes": lambda: self._memory("total"),
            FREE_MEMORY: lambda: self._memory("free"),
            FAN_COUNT: fans.count,
            # NVML_TEMPERATURE_THRESHOLD_SLOWDOWN, _SHUTDOWN, _MEM_MAX
            "slowdown_c": lambda: ask.number("nvmlDeviceGetTemperatureThreshold", 1),
            "shutdown_c": lambda: ask.number("nvmlDeviceGetTemperatureThreshold", 0),
            "memory_max_c": lambda: ask.number("nvmlDeviceGetTemperatureThreshold", 2),
            # both in milliwatts
            "own_power_limit_w": lambda: scaled(
                ask.of_card("nvmlDeviceGetPowerManagementDefaultLimit"), 1e-3
            ),
            "set_power_limit_w": lambda: scaled(
                ask.of_card("nvmlDeviceGetEnforcedPowerLimit"), 1e-3
            ),
            "most_core_clock_mhz": lambda: ask.number("nvmlDeviceGetMaxClockInfo", 0),
            "most_memory_clock_mhz": lambda: ask.number("nvmlDeviceGetMaxClockInfo", 2),
            "memory_bus_bits": lambda: ask.number("nvmlDeviceGetMemoryBusWidth"),
            # CUDA C++ Best Practices Guide, theoretical bandwidth: clock × width/8 × 2
            "memory_per_clock": lambda: 2.0,
        }
        self._readers |= fans.readers()

    def read(self, names: Collection[str]) -> Mapping[str, Value | NotMeasured]:
        """The values of these names; those of `_FIELDS_OF` in one question."""
        found: dict[str, Value | NotMeasured] = {}
        together = [name for name in names if name in _FIELDS_OF]
        if together:
            fields = self._questions.fields([i for name in together for i in _FIELDS_OF[name]])
            if "power_w" in together:
                found["power_w"] = self._power(fields)
            if "memory_temp_c" in together:
                found["memory_temp_c"] = _memory_temp(fields[told.MEMORY_TEMP])
            if "energy_j" in together:
                found["energy_j"] = scaled(fields[told.TOTAL_ENERGY], 1e-3)
        for name in names:
            if name in self._readers:
                found[name] = self._readers[name]()
        return found

    def source(self, name: str) -> Source:  # noqa: ARG002 - there is but one
        """NVML."""
        return NvmlSourceOf.NVML()

    def present(self) -> bool:
        """Whether the driver still reaches the card."""
        if isinstance(self._questions.of_card("nvmlDeviceGetPowerUsage"), NotMeasured):
            self._questions.number("nvmlDeviceGetTemperature", 0)
        return not self._questions.lost

    def link(self) -> Link:
        """The card's end; the maximum speed is the GPU's own."""
        most = self._questions.of_card("nvmlDeviceGetGpuMaxPcieLinkGeneration")
        if isinstance(most, NotMeasured):
            most = self._questions.of_card("nvmlDeviceGetMaxPcieLinkGeneration")
        end = LinkEnd(
            speed_gts=self._speed_now(),
            width_lanes=self._width_now(),
            max_speed_gts=_speed(most),
            max_width_lanes=_width(self._questions.of_card("nvmlDeviceGetMaxPcieLinkWidth")),
            source=NvmlSourceOf.NVML(),
        )
        return Link(end, NotMeasured(NvmlReason.NO_PORT()))

    def error_counters(self) -> tuple[Counter, ...] | NotMeasured:
        """Link counters that the card supports; one that it does not is absent, never zero."""
        counters = self._counters(told.LINK_COUNTERS)
        return counters or NotMeasured(NvmlReason.NO_LINK_COUNTERS())

    def process_use(self, pid: int) -> ProcessUse | NotMeasured:
        """Whether the driver lists a process at this card, for compute or graphics."""
        asked = [
            self._questions.of_card(f"nvmlDeviceGet{kind}RunningProcesses")
            for kind in ("Compute", "Graphics")
        ]
        lists = [found for found in asked if not isinstance(found, NotMeasured)]
        if not lists:
            return NotMeasured(asked[0].reason)
        there = any(int(process.pid) == pid for found in lists for process in found)
        return ProcessUse(there, None, NvmlSourceOf.NVML())

    def memory_errors(self) -> tuple[Counter, ...] | NotMeasured:
        """Counters of the card's memory protection that the card supports."""
        counters = self._counters(told.MEMORY_COUNTERS)
        return counters or NotMeasured(NvmlReason.NO_MEMORY_ERROR_COUNTERS())

    def telemetry(self) -> Telemetry:
        """One reading of everything that NVML tells, most of it in one question."""
        found = self.read(TELEMETRY_NAMES)
        return Telemetry(**found)  # type: ignore[arg-type]  # by name, each of its own type

    def temperature_limits(self) -> TemperatureLimits:
        """Thresholds in °C."""
        found = self.read(LIMIT_NAMES)
        return TemperatureLimits(**found)  # type: ignore[arg-type]

    def ratings(self) -> OwnRatings:
        """What the card was made for."""
        found = self.read(RATING_NAMES)
        return OwnRatings(**found)  # type: ignore[arg-type]

    def throttle_reasons(self) -> tuple[Slowdown, ...] | NotMeasured:
        """Why clocks are lower than they could be; empty: nothing holds them."""
        bits = self._questions.of_card("nvmlDeviceGetCurrentClocksEventReasons")
        if isinstance(bits, NotMeasured):
            # The same question under the name that older drivers know.
            bits = self._questions.of_card("nvmlDeviceGetCurrentClocksThrottleReasons")
        return bits if isinstance(bits, NotMeasured) else told.slowdowns(int(bits))

    def resolution(self) -> Resolution:
        """Steps: whole degrees, milliwatts; power and energy were seen to change every 100 ms."""
        return Resolution(
            temp_c=1.0,
            power_w=1e-3,
            refresh_s=0.1,
            sources={
                "temp_c": NvmlSourceOf.WHOLE_DEGREES(),
                "power_w": NvmlSourceOf.MILLIWATTS(),
                "refresh_s": NvmlSourceOf.REFRESH_SEEN(),
            },
        )

    def _counters(self, wanted: Iterable[told.CounterField]) -> tuple[Counter, ...]:
        fields = tuple(wanted)
        values = self._questions.fields([field.field_id for field in fields])
        return tuple(
            Counter(
                field.name, "card", int(value), field.modulus,
                NvmlSourceOf.FIELD(field_id=field.field_id),
            )
            for field in fields
            if not isinstance(value := values[field.field_id], NotMeasured)
        )  # fmt: skip

    def _power(self, fields: dict[int, int | float | NotMeasured]) -> float | NotMeasured:
        """Instantaneous where told, else the driver's average, else the older question."""
        for field_id in (told.POWER_INSTANT, told.POWER_AVERAGE):
            value = scaled(fields[field_id], 1e-3)
            if not isinstance(value, NotMeasured):
                return value
        return scaled(self._questions.of_card("nvmlDeviceGetPowerUsage"), 1e-3)

    def _driver_version(self) -> str | NotMeasured:
        value = self._questions.of_driver("nvmlSystemGetDriverVersion")
        return value if isinstance(value, NotMeasured) else str(value)

    def _memory(self, part: str) -> int | NotMeasured:
        info = self._questions.of_card("nvmlDeviceGetMemoryInfo")
        return info if isinstance(info, NotMeasured) else int(getattr(info, part))

    def _busy(self) -> float | NotMeasured:
        rates = self._questions.of_card("nvmlDeviceGetUtilizationRates")
        return rates if isinstance(rates, NotMeasured) else float(rates.gpu)

    def _speed_now(self) -> float | NotMeasured:
        return _speed(self._questions.of_card("nvmlDeviceGetCurrPcieLinkGeneration"))

    def _width_now(self) -> int | NotMeasured:
        return _width(self._questions.of_card("nvmlDeviceGetCurrPcieLinkWidth"))


def _memory_temp(value: int | float | NotMeasured) -> float | NotMeasured:
    # A card without the sensor may answer 0 and no error (common practice, no source).
    if value == 0:
        return NotMeasured(NvmlReason.NO_MEMORY_SENSOR())
    return scaled(value, 1.0)


def _speed(generation: Any | NotMeasured) -> float | NotMeasured:
    if isinstance(generation, NotMeasured):
        return generation
    speed = RATE_GTS.get(int(generation))
    if speed is None:
        return NotMeasured(NvmlReason.UNKNOWN_GENERATION(generation=int(generation)))
    return speed


def _width(lanes: Any | NotMeasured) -> int | NotMeasured:
    if isinstance(lanes, NotMeasured):
        return lanes
    return int(lanes) if lanes else NotMeasured(NvmlReason.NO_WIDTH())
