"""The fans of a card of NVIDIA, each by its number."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial

from burnin.card.sources.meanings import NvmlReason
from burnin.card.sources.nvml_library import NvmlQuestions
from burnin.core.reading import NotMeasured
from burnin.core.sample import FAN_NAMES


class NvmlFans:
    """Count, speed and setting of each fan, counted from 0 as NVML does.

    A setting is what the fan is meant to do (nvml.h, nvmlDeviceGetFanSpeed_v2): one that is
    blocked shows in its speed alone.
    """

    def __init__(self, questions: NvmlQuestions) -> None:
        self._questions = questions
        self._count: int | NotMeasured | None = None

    def readers(self) -> Mapping[str, Callable[[], float | NotMeasured]]:
        """How each fan's speed and setting is read, by its name in `Telemetry`."""
        found: dict[str, Callable[[], float | NotMeasured]] = {}
        for number, (rpm, pct) in enumerate(FAN_NAMES):
            found[rpm] = partial(self.rpm, number)
            found[pct] = partial(self.pct, number)
        return found

    def count(self) -> int | NotMeasured:
        """How many there are."""
        if self._count is None:
            count = self._questions.of_card("nvmlDeviceGetNumFans")
            self._count = count if isinstance(count, NotMeasured) else int(count)
        return NotMeasured(NvmlReason.NO_FAN()) if self._count == 0 else self._count

    def rpm(self, number: int) -> float | NotMeasured:
        """Speed of one fan."""
        none = self._no_such(number)
        return self._questions.fan_rpm(number) if none is None else none

    def pct(self, number: int) -> float | NotMeasured:
        """Setting of one fan."""
        none = self._no_such(number)
        if none is not None:
            return none
        value = self._questions.number("nvmlDeviceGetFanSpeed_v2", number)
        if isinstance(value, NotMeasured) and number == 0:
            # Older drivers know the first fan alone, by another name.
            return self._questions.number("nvmlDeviceGetFanSpeed")
        return value

    def _no_such(self, number: int) -> NotMeasured | None:
        """Why there is no fan of this number; None where there may be one."""
        count = self.count()
        if isinstance(count, NotMeasured):
            return count if number or self._count == 0 else None
        return None if number < count else NotMeasured(NvmlReason.NO_SUCH_FAN(fans_count=count))
