"""One fault of a process: a kill at an event or at a call, or a call that fails or is short."""

from __future__ import annotations

import errno
import os
import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from burnin.core.events import Event
from burnin.record.writer import RecordWriter

CALLS = ("open", "write", "fdatasync", "fsync", "replace")
"""Calls by which a record reaches the disk."""
AT_EVENT, KILL, FAIL, SHORT, COUNT = "event", "kill", "fail", "short", "count"
BEFORE, AFTER, HALF = "before", "after", "half"


@dataclass(frozen=True)
class Fault:
    """What happens, where, and to which of its kind.

    `kind`: `AT_EVENT` kills before or after the record has an event (its class in `name`, empty:
    any); `KILL` kills before, after or halfway through a call (`name`, empty: any of `CALLS`);
    `FAIL` makes a call raise `error` (a name of errno) `times` times from the `nth` on (0: for
    ever); `SHORT` makes a write store half. `file`: part of the path that a call is on. `COUNT`
    only puts a byte into the file `name` for each call.
    """

    kind: str
    name: str = ""
    nth: int = 1
    when: str = BEFORE
    error: str = "EIO"
    times: int = 1
    file: str = ""

    def plant(self) -> None:
        """Let it happen in this process."""
        if self.kind == AT_EVENT:
            _at_event(self)
        else:
            _at_calls(self)

    @contextmanager
    def planted(self) -> Iterator[None]:
        """While inside, it happens in this process."""
        before = {name: getattr(os, name) for name in CALLS}
        self.plant()
        try:
            yield
        finally:
            for name, call in before.items():
                setattr(os, name, call)

    def __str__(self) -> str:
        what = f"{self.kind} {self.when if self.kind in (AT_EVENT, KILL) else self.error}"
        return f"{what} {self.name or 'any'} {self.nth} {self.file}".strip()


def _dies() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def _at_event(fault: Fault) -> None:
    real, met = RecordWriter.__call__, [0]

    def told(self: RecordWriter, event: Event) -> None:
        here = not fault.name or type(event).__name__ == fault.name
        met[0] += here
        if here and met[0] == fault.nth and fault.when == BEFORE:
            _dies()
        real(self, event)
        if here and met[0] == fault.nth and fault.when == AFTER:
            _dies()

    RecordWriter.__call__ = told  # type: ignore[method-assign]


def _at_calls(fault: Fault) -> None:
    met = [0]
    if fault.kind == COUNT:
        _count(fault)
        return
    names = (fault.name,) if fault.name in CALLS else CALLS
    for name in names:
        setattr(os, name, _faulty(fault, getattr(os, name), name, met))


def _count(fault: Fault) -> None:
    handle = os.open(fault.name, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o644)
    write = os.write

    def counted(real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*given: Any, **named: Any) -> Any:
            write(handle, b".")
            return real(*given, **named)

        return call

    for name in CALLS:
        setattr(os, name, counted(getattr(os, name)))


def _faulty(
    fault: Fault, real: Callable[..., Any], name: str, met: list[int]
) -> Callable[..., Any]:
    def call(*given: Any, **named: Any) -> Any:
        if fault.file and fault.file not in _path(given, name):
            return real(*given, **named)
        if given and given[0] in (1, 2) and name == "write":
            return real(*given, **named)
        met[0] += 1
        if fault.kind == KILL:
            return _killed(fault, real, name, met[0], *given, **named)
        hit = met[0] >= fault.nth and (not fault.times or met[0] < fault.nth + fault.times)
        if not hit:
            return real(*given, **named)
        if fault.kind == SHORT:
            return real(given[0], bytes(given[1])[: max(1, len(given[1]) // 2)])
        number = getattr(errno, fault.error)
        raise OSError(number, os.strerror(number))

    return call


def _killed(
    fault: Fault, real: Callable[..., Any], name: str, met: int, *given: Any, **named: Any
) -> Any:
    if met == fault.nth and fault.when == BEFORE:
        _dies()
    if met == fault.nth and fault.when == HALF and name == "write":
        real(given[0], bytes(given[1])[: len(given[1]) // 2])
        _dies()
    result = real(*given, **named)
    if met == fault.nth:
        _dies()
    return result


def _path(given: tuple[Any, ...], name: str) -> str:
    if name in ("open", "replace"):
        return os.fsdecode(given[-1] if name == "replace" else given[0])
    try:
        return str(Path(f"/proc/self/fd/{given[0]}").readlink())
    except OSError:
        return ""
