"""Asking NVML: the library opened, one question at a time, its refusals told by their code.

What a card does not support is not asked again, because some answers cost milliseconds (a recorded
card: link generation 1.8 ms, energy 4.5 ms; link throughput 20 ms, which is why it is never asked).
"""

from __future__ import annotations

from collections.abc import Sequence
from ctypes import byref
from typing import Any

from burnin.card.sources.meanings import NvmlReason
from burnin.card.sources.nvml_errors import (
    FUNCTION_NOT_FOUND,
    GPU_IS_LOST,
    GPU_NOT_FOUND,
    NOT_SUPPORTED,
    why_refused,
)
from burnin.card.sources.nvml_values import VALUE_BY_TYPE
from burnin.core.reading import NotMeasured


def open_library() -> Any | NotMeasured:
    """The NVML module, started; or why there is none (no package, no driver)."""
    try:
        import pynvml
    except ImportError:
        return NotMeasured(NvmlReason.NO_PACKAGE())
    try:
        pynvml.nvmlInit()
    except pynvml.NVMLError as error:
        return NotMeasured(why_refused(int(error.value)))
    return pynvml


def open_handle(library: Any, address: str) -> Any | NotMeasured:
    """The library's handle of the card at a PCI address such as ``0000:01:00.0``."""
    try:
        return library.nvmlDeviceGetHandleByPciBusId(address)
    except library.NVMLError as error:
        reason = why_refused(int(error.value))
        return NotMeasured(NvmlReason.CARD_NOT_OPENED(address=address, reason=reason))


class NvmlQuestions:
    """Questions about one card; `lost` once the driver has said that it no longer reaches it."""

    def __init__(self, library: Any, handle: Any) -> None:
        self._library = library
        self._handle = handle
        self._unsupported: dict[tuple[object, ...], NotMeasured] = {}
        self.lost = False

    def of_card(self, function: str, *arguments: int) -> Any | NotMeasured:
        """One question about this card."""
        return self.of_driver(function, self._handle, *arguments)

    def of_driver(self, function: str, *arguments: Any) -> Any | NotMeasured:
        """One question of the library, by its function's name."""
        key = (function, *arguments[1:])
        known_answer = self._unsupported.get(key)
        if known_answer is not None:
            return known_answer
        ask = getattr(self._library, function, None)
        if ask is None:
            return NotMeasured(NvmlReason.PACKAGE_LACKS(function=function))
        try:
            return ask(*arguments)
        except self._library.NVMLError as error:
            return self._refused(int(error.value), key)

    def number(self, function: str, *arguments: int) -> float | NotMeasured:
        """One question about this card that is answered by a number."""
        return scaled(self.of_card(function, *arguments), 1.0)

    def fan_rpm(self, fan: int) -> float | NotMeasured:
        """Speed of one fan, counted from 0.

        The package's own function asks for the first fan alone; the library takes a number in the
        same structure (nvml.h, nvmlFanSpeedInfo_t).
        """
        function = "nvmlDeviceGetFanSpeedRPM"
        if fan == 0:
            return self.number(function)
        key = (function, fan)
        if key in self._unsupported:
            return self._unsupported[key]
        try:
            told = self._library.c_nvmlFanSpeedInfo_t()
            told.fan, told.version = fan, self._library.nvmlFanSpeedInfo_v1
            ask = self._library._nvmlGetFunctionPointer(function)
            self._library._nvmlCheckReturn(ask(self._handle, byref(told)))
        except AttributeError:
            return NotMeasured(NvmlReason.PACKAGE_LACKS(function=function))
        except self._library.NVMLError as error:
            return self._refused(int(error.value), key)
        return float(told.speed)

    def text(self, function: str) -> str | NotMeasured:
        """One question about this card that is answered by a text."""
        value = self.of_card(function)
        return value if isinstance(value, NotMeasured) else str(value)

    def fields(self, field_ids: Sequence[int]) -> dict[int, int | float | NotMeasured]:
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
        answers = self.of_driver("nvmlDeviceGetFieldValues", self._handle, asked)
        if isinstance(answers, NotMeasured):
            return found | dict.fromkeys(asked, answers)
        for field_id, answer in zip(asked, answers, strict=True):
            number, kind = int(answer.nvmlReturn), int(answer.valueType)
            member = VALUE_BY_TYPE.get(kind)
            if number != 0:
                found[field_id] = self._refused(number, ("field", field_id))
            elif member is None:
                found[field_id] = NotMeasured(NvmlReason.UNKNOWN_TYPE(type_number=kind))
            else:
                found[field_id] = getattr(answer.value, member)
        return found

    def _refused(self, number: int, key: tuple[object, ...]) -> NotMeasured:
        answer = NotMeasured(why_refused(number))
        if number in (NOT_SUPPORTED, FUNCTION_NOT_FOUND):
            self._unsupported[key] = answer
        if number in (GPU_IS_LOST, GPU_NOT_FOUND):
            self.lost = True
        return answer


def scaled(value: Any | NotMeasured, unit: float) -> float | NotMeasured:
    """A number times `unit`, or why there is none."""
    return value if isinstance(value, NotMeasured) else float(value) * unit
