"""What crosses the pipe between supervisor and worker: one JSON object a line.

Down: ``{"do": "begin", "job": {...}}``, ``beat``, ``share``, ``power``, ``stop`` (with a number),
``end``.
Up: ``{"is": "ready", ...}``, ``refused``, ``event`` and ``stopped`` (with the number). Jobs,
events and the description are dataclasses under their class name; a meaning among their values is
plain JSON, ``{"code": …}`` with its data, and comes back as the kind that its field names (the
first of them where a field takes several).
"""

from __future__ import annotations

import dataclasses
import json
import types
import typing
from typing import Any, TypeVar, get_args, get_origin

from burnin.core.errors import EngineError
from burnin.core.meaning import Meaning
from burnin.core.opening import EngineDescription
from burnin.core.plain import plain
from burnin.engine.job import Job, WorkEvent
from burnin.engine.process.meanings import WorkerReason

T = TypeVar("T")

_NAMED: dict[str, type[Any]] = {
    kind.__name__: kind for kind in (*get_args(Job), *get_args(WorkEvent), EngineDescription)
}


def line(message: dict[str, Any]) -> bytes:
    """A message as one line; dataclasses among its values travel under their class name."""
    flat = {key: _packed(value) for key, value in message.items()}
    return json.dumps(flat, separators=(",", ":")).encode() + b"\n"


def _packed(value: Any) -> Any:
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        fields = {f.name: plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
        return {"kind": type(value).__name__, **fields}
    return value


def message(text: bytes) -> dict[str, Any]:
    """One line as a message; raises EngineError for what is none."""
    shown = text[:80].decode(errors="replace")
    try:
        found = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise EngineError(WorkerReason.NO_MESSAGE(text=shown)) from error
    if not isinstance(found, dict):
        raise EngineError(WorkerReason.NO_MESSAGE(text=shown))
    return found


def unpacked(value: dict[str, Any]) -> Any:
    """The dataclass that a message carries; raises EngineError for an unknown or torn one."""
    fields = dict(value)
    kind = _NAMED.get(str(fields.pop("kind", "")))
    if kind is None:
        raise EngineError(WorkerReason.UNKNOWN_KIND(kind=str(value.get("kind"))))
    try:
        return _built(kind, fields)
    except (TypeError, ValueError, KeyError, AttributeError, RecursionError) as error:
        torn = WorkerReason.TORN(kind=kind.__name__, words=str(error))
        raise EngineError(torn) from error


def _built(kind: type[T], fields: dict[str, Any]) -> T:
    hints = typing.get_type_hints(kind)
    return kind(**{name: _value(hints[name], value) for name, value in fields.items()})


def _value(hint: Any, value: Any) -> Any:
    origin = get_origin(hint)
    if origin is tuple:
        return tuple(_value(get_args(hint)[0], item) for item in value)
    if origin is dict:
        return {str(key): _value(get_args(hint)[1], item) for key, item in value.items()}
    if origin in (types.UnionType, typing.Union):
        if value is None:
            return None
        return _value(get_args(hint)[0], value)
    if isinstance(hint, type) and issubclass(hint, Meaning):
        if not isinstance(value, dict):
            raise ValueError(f"no meaning: {value!r}")
        return hint.from_plain(value)
    if dataclasses.is_dataclass(hint):
        return _built(typing.cast("type[Any]", hint), value)
    return float(value) if hint is float else value
