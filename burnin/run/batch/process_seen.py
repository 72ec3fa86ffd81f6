"""Whether a process that is not ours is gone, or stands still: asked of /proc, by its start too.

A number is given to another process once its owner is gone; the moment of its start tells them
apart (proc(5), /proc/PID/stat, field 22).
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

_STATE, _START = 0, 19
"""Places of fields 3 and 22 after the name in brackets, which may hold anything."""
_DEAD, _STOPPED = "ZXx", "Tt"


@dataclass(frozen=True)
class ProcessSeen:
    """A process by its number and the moment at which it was started."""

    pid: int
    started: str

    def is_gone(self) -> bool:
        """Whether it runs no more: ended, or its number is another's."""
        now = _fields(self.pid)
        return now is None or now[_START] != self.started or now[_STATE] in _DEAD

    def stands_still(self) -> bool:
        """Whether somebody stopped it (SIGSTOP, or a debugger)."""
        now = _fields(self.pid)
        return now is not None and now[_START] == self.started and now[_STATE] in _STOPPED


def seen(pid: int) -> ProcessSeen | None:
    """A process that runs now; None where there is none of this number."""
    now = _fields(pid) if pid > 0 else None
    return None if now is None else ProcessSeen(pid, now[_START])


def _fields(pid: int) -> list[str] | None:
    try:
        told = Path(f"/proc/{pid}/stat").read_text("utf-8", "replace")
    except OSError:
        return None
    fields = told.rpartition(")")[2].split()
    return fields if len(fields) > _START else None
