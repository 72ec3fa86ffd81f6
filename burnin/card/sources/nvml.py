"""What NVML adds to a card of NVIDIA: memory temperature, power, energy, reasons, link counters.

Only questions are asked; nothing is set. What a card does not support is not asked again, because
some answers cost milliseconds (a recorded card: link generation 1.8 ms, energy 4.5 ms; link
throughput 20 ms, which is why it is never asked).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from burnin.card.card import Counter, LinkEnd, TemperatureLimits
from burnin.card.rates import RATE_GTS
from burnin.card.sources import nvml_values as words
from burnin.core.reading import NotMeasured
from burnin.core.sample import Resolution, Telemetry

VENDOR_ID = 0x10DE
SOURCE = "NVML"
_TELEMETRY_FIELDS = (
    words.POWER_INSTANT,
    words.POWER_AVERAGE,
    words.MEMORY_TEMP,
    words.TOTAL_ENERGY,
)


def open_library() -> Any | NotMeasured:
    """The NVML module, started; or why there is none (no package, no driver)."""
    try:
        import pynvml
    except ImportError:
        return NotMeasured("the Python package nvidia-ml-py is not installed")
    try:
        pynvml.nvmlInit()
    except pynvml.NVMLError as error:
        return NotMeasured(_reason(error))
    return pynvml


def open_card(library: Any, address: str) -> NvmlCard | NotMeasured:
    """The card at a PCI address such as ``0000:01:00.0``."""
    try:
        handle = library.nvmlDeviceGetHandleByPciBusId(address)
    except library.NVMLError as error:
        return NotMeasured(f"{_reason(error)} (NVML, {address})")
    return NvmlCard(library, handle)


def _reason(error: Any) -> str:
    return _words_for(int(error.value))


def _words_for(code: int) -> str:
    return words.REASONS.get(code, f"NVML answers with error {code}")


class NvmlCard:
    """One card of NVIDIA as its driver's library tells it."""

    def __init__(self, library: Any, handle: Any) -> None:
        self._library = library
        self._handle = handle
        self._unsupported: dict[tuple[object, ...], NotMeasured] = {}
        self._lost = False
        self._fans: int | NotMeasured | None = None

    # --- who it is --------------------------------------------------------------------------

    def name(self) -> str | NotMeasured:
        """The product's name."""
        return self._text("nvmlDeviceGetName")

    def uuid(self) -> str | NotMeasured:
        """The card's own unique name."""
        return self._text("nvmlDeviceGetUUID")

    def serial(self) -> str | NotMeasured:
        """The board's serial number; consumer cards tell none."""
        return self._text("nvmlDeviceGetSerial")

    def firmware_version(self) -> str | NotMeasured:
        """Version of the card's firmware."""
        return self._text("nvmlDeviceGetVbiosVersion")

    def driver_version(self) -> str | NotMeasured:
        """Version of the driver."""
        value = self._call("nvmlSystemGetDriverVersion")
        return value if isinstance(value, NotMeasured) else str(value)

    def memory_bytes(self) -> int | NotMeasured:
        """All of the card's memory."""
        info = self._ask("nvmlDeviceGetMemoryInfo")
        return info if isinstance(info, NotMeasured) else int(info.total)

    def free_memory_bytes(self) -> int | NotMeasured:
        """Memory that nothing uses now."""
        info = self._ask("nvmlDeviceGetMemoryInfo")
        return info if isinstance(info, NotMeasured) else int(info.free)

    def present(self) -> bool:
        """Whether the driver still reaches the card."""
        if isinstance(self._ask("nvmlDeviceGetPowerUsage"), NotMeasured):
            self._number("nvmlDeviceGetTemperature", 0)
        return not self._lost

    # --- link -------------------------------------------------------------------------------

    def link_end(self) -> LinkEnd:
        """The card's end; the maximum speed is the GPU's own, the maximum width that of card and
        bench together (NVML gives no other)."""
        max_generation = self._ask("nvmlDeviceGetGpuMaxPcieLinkGeneration")
        if isinstance(max_generation, NotMeasured):
            max_generation = self._ask("nvmlDeviceGetMaxPcieLinkGeneration")
        return LinkEnd(
            speed_gts=_speed(self._ask("nvmlDeviceGetCurrPcieLinkGeneration")),
            width_lanes=_width(self._ask("nvmlDeviceGetCurrPcieLinkWidth")),
            max_speed_gts=_speed(max_generation),
            max_width_lanes=_width(self._ask("nvmlDeviceGetMaxPcieLinkWidth")),
            source=SOURCE,
        )

    def error_counters(self) -> tuple[Counter, ...]:
        """Link counters that the card supports; one that it does not is absent, never zero."""
        return self._counters(words.LINK_COUNTERS)

    def memory_errors(self) -> tuple[Counter, ...]:
        """Counters of the card's memory protection that the card supports."""
        return self._counters(words.MEMORY_COUNTERS)

    # --- sensors ----------------------------------------------------------------------------

    def telemetry(self) -> Telemetry:
        """One reading of everything that NVML tells, most of it in one question."""
        fields = self._fields(_TELEMETRY_FIELDS)
        end_speed = _speed(self._ask("nvmlDeviceGetCurrPcieLinkGeneration"))
        return Telemetry(
            gpu_temp_c=self._number("nvmlDeviceGetTemperature", 0),  # NVML_TEMPERATURE_GPU
            hotspot_temp_c=NotMeasured("NVML tells no hot-spot temperature"),
            memory_temp_c=_memory_temp(fields[words.MEMORY_TEMP]),
            power_w=self._power(fields),
            energy_j=_scaled(fields[words.TOTAL_ENERGY], 1e-3),
            core_clock_mhz=self._number("nvmlDeviceGetClockInfo", 0),  # NVML_CLOCK_GRAPHICS
            memory_clock_mhz=self._number("nvmlDeviceGetClockInfo", 2),  # NVML_CLOCK_MEM
            busy_pct=self._busy(),
            fan_rpm=self._fan("nvmlDeviceGetFanSpeedRPM"),
            fan_pct=self._fan("nvmlDeviceGetFanSpeed"),
            link_speed_gts=end_speed,
            link_width_lanes=_width(self._ask("nvmlDeviceGetCurrPcieLinkWidth")),
            throttle_reasons=self.throttle_reasons(),
        )

    def throttle_reasons(self) -> tuple[str, ...] | NotMeasured:
        """Why clocks are lower than they could be; empty: nothing holds them."""
        bits = self._ask("nvmlDeviceGetCurrentClocksEventReasons")
        if isinstance(bits, NotMeasured):
            # The same question under the name that older drivers know.
            bits = self._ask("nvmlDeviceGetCurrentClocksThrottleReasons")
        return bits if isinstance(bits, NotMeasured) else words.clock_reasons(int(bits))

    def temperature_limits(self) -> TemperatureLimits:
        """Thresholds in °C (NVML_TEMPERATURE_THRESHOLD_SLOWDOWN, _SHUTDOWN, _MEM_MAX)."""
        return TemperatureLimits(
            slowdown_c=self._number("nvmlDeviceGetTemperatureThreshold", 1),
            shutdown_c=self._number("nvmlDeviceGetTemperatureThreshold", 0),
            memory_max_c=self._number("nvmlDeviceGetTemperatureThreshold", 2),
        )

    def resolution(self) -> Resolution:
        """Steps: whole degrees, milliwatts; power and energy were seen to change every 100 ms."""
        return Resolution(
            temp_c=1.0,
            power_w=1e-3,
            refresh_s=0.1,
            sources={
                "temp_c": "NVML gives whole degrees",
                "power_w": "NVML gives milliwatts",
                "refresh_s": "seen on one recorded card",
            },
        )

    # --- asking -----------------------------------------------------------------------------

    def _ask(self, function: str, *arguments: int) -> Any | NotMeasured:
        """One question about this card."""
        return self._call(function, self._handle, *arguments)

    def _call(self, function: str, *arguments: Any) -> Any | NotMeasured:
        key = (function, *arguments[1:])
        known_answer = self._unsupported.get(key)
        if known_answer is not None:
            return known_answer
        ask = getattr(self._library, function, None)
        if ask is None:
            return NotMeasured(f"this NVML package has no {function}")
        try:
            return ask(*arguments)
        except self._library.NVMLError as error:
            return self._note(int(error.value), key)

    def _note(self, code: int, key: tuple[object, ...]) -> NotMeasured:
        answer = NotMeasured(f"{_words_for(code)} (NVML)")
        if code in (words.NOT_SUPPORTED, words.FUNCTION_NOT_FOUND):
            self._unsupported[key] = answer
        if code in (words.GPU_IS_LOST, words.GPU_NOT_FOUND):
            self._lost = True
        return answer

    def _text(self, function: str) -> str | NotMeasured:
        value = self._ask(function)
        return value if isinstance(value, NotMeasured) else str(value)

    def _number(self, function: str, *arguments: int) -> float | NotMeasured:
        return _scaled(self._ask(function, *arguments), 1.0)

    def _fields(self, field_ids: Sequence[int]) -> dict[int, int | float | NotMeasured]:
        """Many values in one question; each answers for itself."""
        known_answers = {
            field_id: answer
            for field_id in field_ids
            if (answer := self._unsupported.get(("field", field_id))) is not None
        }
        found: dict[int, int | float | NotMeasured] = dict(known_answers)
        asked = tuple(field_id for field_id in field_ids if field_id not in known_answers)
        if not asked:
            return found
        answers = self._call("nvmlDeviceGetFieldValues", self._handle, asked)
        if isinstance(answers, NotMeasured):
            return found | dict.fromkeys(asked, answers)
        for field_id, answer in zip(asked, answers, strict=True):
            code = int(answer.nvmlReturn)
            member = words.VALUE_BY_TYPE.get(int(answer.valueType))
            if code != 0:
                found[field_id] = self._note(code, ("field", field_id))
            elif member is None:
                found[field_id] = NotMeasured("NVML gives a value of a type not known here")
            else:
                found[field_id] = getattr(answer.value, member)
        return found

    def _counters(self, wanted: Iterable[words.CounterField]) -> tuple[Counter, ...]:
        fields = tuple(wanted)
        values = self._fields([field.field_id for field in fields])
        return tuple(
            Counter(field.name, "card", int(value), field.modulus, f"NVML field {field.field_id}")
            for field in fields
            if not isinstance(value := values[field.field_id], NotMeasured)
        )

    def _power(self, fields: dict[int, int | float | NotMeasured]) -> float | NotMeasured:
        """Instantaneous where told, else the driver's average, else the older question."""
        for field_id in (words.POWER_INSTANT, words.POWER_AVERAGE):
            value = _scaled(fields[field_id], 1e-3)
            if not isinstance(value, NotMeasured):
                return value
        return _scaled(self._ask("nvmlDeviceGetPowerUsage"), 1e-3)

    def _busy(self) -> float | NotMeasured:
        rates = self._ask("nvmlDeviceGetUtilizationRates")
        return rates if isinstance(rates, NotMeasured) else float(rates.gpu)

    def _fan(self, function: str) -> float | NotMeasured:
        if self._fans is None:
            self._fans = self._ask("nvmlDeviceGetNumFans")
        if self._fans == 0:
            return NotMeasured("the card drives no fan (NVML)")
        return self._number(function)


def _scaled(value: Any | NotMeasured, unit: float) -> float | NotMeasured:
    return value if isinstance(value, NotMeasured) else float(value) * unit


def _memory_temp(value: int | float | NotMeasured) -> float | NotMeasured:
    # A card without the sensor may answer 0 and no error (common practice, no source).
    if value == 0:
        return NotMeasured("NVML answers 0 °C for the memory, which means no sensor")
    return _scaled(value, 1.0)


def _speed(generation: Any | NotMeasured) -> float | NotMeasured:
    if isinstance(generation, NotMeasured):
        return generation
    speed = RATE_GTS.get(int(generation))
    if speed is None:
        return NotMeasured(f"NVML tells generation {generation}, which is not known here")
    return speed


def _width(lanes: Any | NotMeasured) -> int | NotMeasured:
    if isinstance(lanes, NotMeasured):
        return lanes
    return int(lanes) if lanes else NotMeasured("NVML tells a width of 0")
