"""Temperatures, power, energy, clocks and fans of a card, from its driver's hwmon folder.

File names, units and meanings follow Linux Documentation/hwmon/sysfs-interface.rst; which label
means what follows amdgpu (Documentation/gpu/amdgpu/thermal.rst: edge, junction, mem, sclk, mclk)
and xe (Documentation/ABI/testing/sysfs-driver-intel-xe-hwmon: temp2 package, temp3 memory).
Drivers without labels (nouveau, i915) give the GPU as their first temperature.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from burnin.card.attributes import Attributes
from burnin.card.files import BenchFiles
from burnin.card.sources.meanings import LinuxReason
from burnin.core.identity import TemperatureLimits
from burnin.core.reading import NotMeasured, known
from burnin.core.sample import FAN_NAMES

GPU_LABELS = ("edge", "pkg")
HOTSPOT_LABELS = ("junction",)
MEMORY_LABELS = ("mem", "vram")
CORE_CLOCK_LABELS = ("sclk",)
MEMORY_CLOCK_LABELS = ("mclk",)

SIGNALS = (
    "gpu_temp_c",
    "hotspot_temp_c",
    "memory_temp_c",
    "power_w",
    "energy_j",
    "core_clock_mhz",
    "memory_clock_mhz",
    *(name for fan in FAN_NAMES for name in fan),
)
"""Values of telemetry that lie in a hwmon folder."""

_MILLI, _MICRO = 1e-3, 1e-6
_NO_SENSORS = NotMeasured(LinuxReason.NO_SENSORS())
_NO_SUCH_SENSOR = NotMeasured(LinuxReason.NO_SUCH_SENSOR())
_CHANNEL = re.compile(r"(temp|freq|power|energy|fan)(\d{1,3})_(input|average)", re.ASCII)
_FAN = re.compile(r"(?:fan(\d{1,3})_input|pwm(\d{1,3}))", re.ASCII)


@dataclass(frozen=True)
class Place:
    """Where one value lies: a file of a folder, and the unit that its integer counts."""

    attributes: Attributes
    name: str
    unit: float

    def read(self) -> float | NotMeasured:
        """The value as the driver answers it now."""
        return self.attributes.scaled(self.name, self.unit)


class Sensors:
    """The sensors of one card; their places are looked up once and again if one goes missing."""

    def __init__(self, files: BenchFiles, folder: str) -> None:
        self._files = files
        self._folder = folder
        self._places: dict[str, Place] = {}

    def read(self, signal: str) -> float | NotMeasured:
        """One value by its name in `Telemetry`, or the reason why there is none."""
        place = self._places.get(signal)
        if place is None:
            return _NO_SUCH_SENSOR if self._places else _NO_SENSORS
        value = place.read()
        if isinstance(value, NotMeasured) and not self._still_there(place):
            # hwmon folders are numbered anew when a driver is loaded again.
            self._places = {}
        return value

    def find(self) -> None:
        """Look the places up, unless they are known."""
        if self._places:
            return
        listed = Attributes(self._files, f"{self._folder}/hwmon")
        for name in listed.names():
            for signal, place in _places(listed.below(name)).items():
                self._places.setdefault(signal, place)

    def fan_count(self) -> int | NotMeasured:
        """How many fans the driver has files for; also those that nobody can read."""
        listed = Attributes(self._files, f"{self._folder}/hwmon")
        folders = [listed.below(name).names() for name in listed.names()]
        return max((len(_fans(names)) for names in folders), default=0) or _NO_SUCH_SENSOR

    def limits(self) -> TemperatureLimits:
        """Thresholds beside the temperatures: ``crit`` is where the card slows down, ``emergency``
        where it switches itself off (amdgpu thermal.rst)."""
        self.find()
        return TemperatureLimits(
            slowdown_c=self._beside("gpu_temp_c", "crit"),
            shutdown_c=self._beside("gpu_temp_c", "emergency"),
            memory_max_c=self._beside("memory_temp_c", "crit"),
        )

    def power_limits(self) -> dict[str, float | NotMeasured]:
        """The board's own limit and the one in force, W.

        amdgpu: ``power1_cap_default`` and ``power1_cap`` (Documentation/gpu/amdgpu/thermal.rst);
        xe and i915: ``power1_rated_max`` and ``power1_max`` (sysfs-driver-intel-xe-hwmon). Where
        no default is told, ``power1_cap_max``: the most that may be set.
        """
        self.find()
        power = self._places.get("power_w")
        if power is None:
            none = _NO_SUCH_SENSOR if self._places else _NO_SENSORS
            return {"own_power_limit_w": none, "set_power_limit_w": none}
        own = ("power1_cap_default", "power1_rated_max", "power1_cap_max")
        return {
            "own_power_limit_w": _first_told(power.attributes, own),
            "set_power_limit_w": _first_told(power.attributes, ("power1_cap", "power1_max")),
        }

    def driver_name(self) -> str | NotMeasured:
        """What the hwmon folder calls itself."""
        self.find()
        for place in self._places.values():
            return place.attributes.text("name")
        return _NO_SENSORS

    def _beside(self, signal: str, kind: str) -> float | NotMeasured:
        place = self._places.get(signal)
        if place is None:
            return _NO_SUCH_SENSOR if self._places else _NO_SENSORS
        return place.attributes.scaled(place.name.replace("input", kind), place.unit)

    def _still_there(self, place: Place) -> bool:
        return place.name in place.attributes.names()


def _first_told(attributes: Attributes, names: tuple[str, ...]) -> float | NotMeasured:
    """The first of these files that tells a power above nought, W."""
    found: float | NotMeasured = _NO_SUCH_SENSOR
    there = attributes.names()
    for name in names:
        if name not in there:
            continue
        found = attributes.scaled(name, _MICRO)
        if not isinstance(found, NotMeasured) and found > 0.0:
            return found
    return found if isinstance(found, NotMeasured) else _NO_SUCH_SENSOR


def _places(attributes: Attributes) -> dict[str, Place]:
    """Signals of one hwmon folder."""
    names = attributes.names()
    found: dict[str, Place] = {}

    def put(signal: str, name: str, unit: float) -> None:
        if name in names:
            found.setdefault(signal, Place(attributes, name, unit))

    for name in _in_number_order(names):
        kind, number, _ = _split(name)
        label = known(attributes.text(f"{kind}{number}_label")) if kind in ("temp", "freq") else ""
        if kind == "temp":
            if label in GPU_LABELS:
                put("gpu_temp_c", name, _MILLI)
            elif label in HOTSPOT_LABELS:
                put("hotspot_temp_c", name, _MILLI)
            elif label in MEMORY_LABELS:
                put("memory_temp_c", name, _MILLI)
        elif kind == "freq":
            if label in CORE_CLOCK_LABELS:
                put("core_clock_mhz", name, _MICRO)
            elif label in MEMORY_CLOCK_LABELS:
                put("memory_clock_mhz", name, _MICRO)
    # The instantaneous value where there is one: an average hides what a guard must see.
    put("power_w", "power1_input", _MICRO)
    put("power_w", "power1_average", _MICRO)
    put("energy_j", "energy1_input", _MICRO)
    for number, (rpm, pct) in zip(_fans(names), FAN_NAMES, strict=False):
        put(rpm, f"fan{number}_input", 1.0)
        put(pct, f"pwm{number}", _pwm_unit(attributes, number))
    if not any(signal.endswith("temp_c") for signal in found):
        for name in _in_number_order(names):
            if name.startswith("temp"):
                put("gpu_temp_c", name, _MILLI)
    return found


def _fans(names: list[str]) -> list[int]:
    """Numbers of the fans that have a speed or a setting, in their order."""
    found = (_FAN.fullmatch(name) for name in names)
    return sorted({int(match.group(1) or match.group(2)) for match in found if match})


def _pwm_unit(attributes: Attributes, number: int) -> float:
    """Percent a step: 0 to 255 in the hwmon interface, another end where ``pwmN_max`` tells it."""
    most = known(attributes.integer(f"pwm{number}_max"))
    return 100.0 / (most if most is not None and most > 0 else 255)


def _split(name: str) -> tuple[str, int, str]:
    match = _CHANNEL.fullmatch(name)
    return (match.group(1), int(match.group(2)), match.group(3)) if match else ("", 0, "")


def _in_number_order(names: list[str]) -> list[str]:
    return sorted((n for n in names if _CHANNEL.fullmatch(n)), key=_split)
