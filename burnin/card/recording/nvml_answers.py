"""Answers of the driver's library, put on a list as they are given, and given again from it.

An answer is a number, a text, a structure of numbers, or the number of an error; for fields of
values a list of structures (`nvml.h`, nvmlFieldValue_t).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import SimpleNamespace
from typing import Any

from burnin.card.recording.stripping import plain_serial
from burnin.card.sources.nvml_values import VALUE_BY_TYPE

_NAMING = ("nvmlDeviceGetUUID", "nvmlDeviceGetSerial")
_FIELDS = "nvmlDeviceGetFieldValues"
_NOT_ASKED = 3
"""NVML_ERROR_NOT_SUPPORTED, for what nobody asked when the recording was made."""


class RecordedError(Exception):
    """An error of the library by its number."""

    def __init__(self, value: int) -> None:
        super().__init__(value)
        self.value = value


class RecordingLibrary:
    """Stands before the library and puts every answer on a list by its question."""

    def __init__(self, library: Any) -> None:
        self._library = library
        self.NVMLError = library.NVMLError
        self.answers: dict[str, Any] = {}

    def __getattr__(self, name: str) -> Any:
        there = getattr(self._library, name)
        if not name.startswith("nvml") or not callable(there):
            return there

        def ask(*given: Any) -> Any:
            try:
                answer = there(*given)
            except self._library.NVMLError as error:
                self.answers[_key(name, given)] = {"error": int(error.value)}
                raise
            self._keep(name, given, answer)
            return answer

        return ask

    def _keep(self, name: str, given: tuple[Any, ...], answer: Any) -> None:
        if name == _FIELDS:
            for field_id, one in zip(given[1], answer, strict=True):
                self.answers[f"{_FIELDS} {field_id}"] = _of_field(one)
            return
        told = _plain(answer)
        if name in _NAMING and isinstance(told, str):
            told = plain_serial(told)
        self.answers[_key(name, given)] = {"answer": told}


class RecordedLibrary:
    """Gives a list's answers as the library gave them."""

    NVMLError = RecordedError

    def __init__(self, answers: Mapping[str, Any]) -> None:
        self._answers = answers

    def __getattr__(self, name: str) -> Callable[..., Any]:
        if not name.startswith("nvml"):
            raise AttributeError(name)
        if name == _FIELDS:
            return lambda _handle, fields: [self._field(field_id) for field_id in fields]
        return lambda *given: self._answer(name, given)

    def _answer(self, name: str, given: tuple[Any, ...]) -> Any:
        told = self._answers.get(_key(name, given), {"error": _NOT_ASKED})
        if "error" in told:
            raise RecordedError(int(told["error"]))
        answer = told["answer"]
        return SimpleNamespace(**answer) if isinstance(answer, dict) else answer

    def _field(self, field_id: int) -> SimpleNamespace:
        told = self._answers.get(f"{_FIELDS} {field_id}", {"error": _NOT_ASKED})
        number, kind = int(told.get("error", 0)), int(told.get("kind", 0))
        member = VALUE_BY_TYPE.get(kind, "uiVal")
        value = SimpleNamespace(**{member: told.get("value", 0)})
        return SimpleNamespace(nvmlReturn=number, valueType=kind, value=value)


def _key(name: str, given: tuple[Any, ...]) -> str:
    """A question; the card's handle is left out, and numbers tell it apart."""
    return " ".join((name, *(str(one) for one in given if isinstance(one, int))))


def _of_field(one: Any) -> dict[str, Any]:
    number, kind = int(one.nvmlReturn), int(one.valueType)
    member = VALUE_BY_TYPE.get(kind)
    if number or member is None:
        return {"error": number, "kind": kind}
    return {"kind": kind, "value": getattr(one.value, member)}


def _plain(answer: Any) -> Any:
    if isinstance(answer, bytes):
        return answer.decode("utf-8", errors="replace")
    if isinstance(answer, int | float | str) or answer is None:
        return answer
    if isinstance(answer, list | tuple):
        return [_plain(one) for one in answer]
    names = [name for name, *_ in getattr(answer, "_fields_", ())]
    return {name: _plain(getattr(answer, name)) for name in names}
