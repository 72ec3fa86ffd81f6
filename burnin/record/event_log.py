"""A ticket's log: JSON lines, only ever appended to, by several people at once.

Each line carries a check (the first 16 hexadecimal digits of the SHA-256 of the rest of the line)
and the check of the line before it. A line that a power cut tore is ended, and named by the line
after it; a line that was changed or taken out is refused with its place.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from burnin.core.errors import RecordError
from burnin.core.files.bounded import read_at_most
from burnin.core.files.disk import read_at, sync, sync_folder_and_above, write_all
from burnin.core.files.private_files import private_folder
from burnin.core.meaning import Reason
from burnin.core.system import cannot_read
from burnin.record.clock_stamp import ClockStamp, stamp_of
from burnin.record.log_lock import GIVE_UP_AFTER_S, locked
from burnin.record.reasons import RecordReason, RecordRefusal

MOST_BYTES = 32 << 20
"""Most of a log that is read: no repair fills a hundredth of it."""
MENDED = "mended"
"""Event that follows a torn line: what was left of it is no part of the ticket."""


@dataclass(frozen=True)
class LogEvent:
    """One line: when, what kind, by whom, and the event's own fields.

    `clock`: what both clocks of the bench showed; None where nobody told, as in older logs.
    """

    time_utc: str
    kind: str
    by: str
    fields: Mapping[str, object]
    clock: ClockStamp | None = None


@dataclass(frozen=True)
class Log:
    """All whole events in order; `flaws` names what was torn."""

    events: tuple[LogEvent, ...]
    flaws: tuple[Reason, ...] = ()


def read_log(path: Path) -> Log:
    """Read a log; raises RecordError where it is missing, or a line was changed or taken out."""
    try:
        raw = read_at_most(path, MOST_BYTES)
    except OSError as error:
        raise RecordError(cannot_read(path, error)) from error
    return log_of(raw, str(path))


Decide = Callable[[Log], Sequence[LogEvent]]


class Seal(Protocol):
    """Who vouches for a log: told of its checks before lines are added, and again after.

    `there` are the checks of the whole lines as they lie on disk, `coming` those of the lines that
    are about to follow: empty once all of them are there.
    """

    def __call__(self, there: Sequence[str], coming: Sequence[str]) -> None:
        """Vouch; whatever keeps it from doing so must not cost the line."""


def append(
    path: Path,
    decide: Decide,
    seal: Seal | None = None,
    *,
    give_up_after_s: float = GIVE_UP_AFTER_S,
) -> tuple[LogEvent, ...]:
    """Append what `decide` makes of the log as it stands, with nobody else writing meanwhile.

    The new lines are on disk when this returns. Nothing is written where `decide` raises. Raises
    BadInput where somebody else holds the log for `give_up_after_s`.
    """
    private_folder(path.parent)
    with locked(path, give_up_after_s=give_up_after_s) as handle:
        raw = _all_bytes(handle)
        log = log_of(raw, str(path))
        fresh = tuple(decide(log))
        if not fresh:
            return ()
        there = checks(raw)
        check = there[-1] if there else ""
        rest = raw[raw.rfind(b"\n") + 1 :]
        torn = 0 if _whole(rest) else len(rest)
        text, coming = b"\n" if rest else b"", []
        mended = [LogEvent(fresh[0].time_utc, MENDED, "", {"bytes": torn})] if torn else []
        for event in (*mended, *fresh):
            line, check = _line(event, check)
            text += line
            coming.append(check)
        if seal is not None:
            seal(there, coming)
        write_all(handle, text, path)
        sync(handle, path)
        if not raw:
            sync_folder_and_above(path.parent)
        if seal is not None:
            seal([*there, *coming], ())
    return fresh


def checks(raw: bytes) -> list[str]:
    """The check of each whole line of a log, in order."""
    found = (_whole(line) for line in raw.split(b"\n"))
    return [whole[1] for whole in found if whole is not None]


def _all_bytes(handle: int) -> bytes:
    size = os.fstat(handle).st_size
    parts, at = [], 0
    while at < size:
        part = read_at(handle, size - at, at)
        if not part:
            break
        parts.append(part)
        at += len(part)
    return b"".join(parts)


def _line(event: LogEvent, before: str) -> tuple[bytes, str]:
    body = {
        "time_utc": event.time_utc,
        "kind": event.kind,
        "by": event.by,
        **({"clock": event.clock.as_plain()} if event.clock else {}),
        **({"fields": dict(event.fields)} if event.fields else {}),
        "before": before,
    }
    text = json.dumps(body, ensure_ascii=False)
    check = _check(text)
    return f'{text[:-1]}, "check": "{check}"}}\n'.encode("utf-8", "replace"), check


def _check(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "replace")).hexdigest()[:16]


def _whole(line: bytes) -> tuple[dict[str, object], str] | None:
    """Content and check of a line that is as it was written, None for any other."""
    try:
        text = line.decode("utf-8")
        body, marker, rest = text.rpartition(', "check": "')
        if not marker or len(rest) != 18 or not rest.endswith('"}'):
            return None
        check = rest[:16]
        if _check(body + "}") != check:
            return None
        content = json.loads(body + "}")
    except (ValueError, RecursionError):
        return None
    return (content, check) if isinstance(content, dict) else None


def log_of(raw: bytes, name: str) -> Log:
    """The log that the bytes are; `name` is what errors call it. Raises RecordError."""
    *lines, rest = raw.split(b"\n")
    if rest and _whole(rest):  # only the line's end is missing
        lines, rest = [*lines, rest], b""
    events: list[LogEvent] = []
    flaws: list[Reason] = []
    before, torn_line = "", 0
    for number, line in enumerate(lines, start=1):
        found = _whole(line)
        if found is None:
            if torn_line:
                raise RecordError(_refused(name, torn_line))
            torn_line = number
            continue
        content, check = found
        event = LogEvent(
            str(content.get("time_utc", "")),
            str(content.get("kind", "")),
            str(content.get("by", "")),
            _fields(content),
            stamp_of(content.get("clock")),
        )
        if torn_line:
            if event.kind != MENDED or event.fields.get("bytes") != len(lines[number - 2]):
                raise RecordError(_refused(name, torn_line))
            flaws.append(RecordReason.LOG_LINE_TORN(line=torn_line))
            torn_line = 0
        if content.get("before") != before:
            raise RecordError(RecordRefusal.LINE_TAKEN_OUT(file=name, line=number))
        before = check
        if event.kind != MENDED:
            events.append(event)
    if torn_line:
        raise RecordError(_refused(name, torn_line))
    if rest:
        flaws.append(RecordReason.LOG_END_TORN(size_bytes=len(rest)))
    return Log(tuple(events), tuple(flaws))


def _fields(content: Mapping[str, object]) -> Mapping[str, object]:
    fields = content.get("fields")
    return fields if isinstance(fields, dict) else {}


def _refused(name: str, line: int) -> Reason:
    return RecordRefusal.LINE_CHANGED(file=name, line=line)
