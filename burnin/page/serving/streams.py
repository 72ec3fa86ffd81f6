"""What changes, sent as server-sent events (WHATWG HTML standard, 9.2) to each page that is open.

Every `state` is whole, so that nothing is lost with a connection. A `course` holds the spans of the
curves that changed; the id says how far the page has them, and comes back as Last-Event-ID. An id
that is none of ours counts as none, and all is sent anew.
"""

from __future__ import annotations

import asyncio
import json
import re
import time
from collections.abc import AsyncIterator, Callable
from dataclasses import dataclass
from pathlib import Path

from starlette.concurrency import run_in_threadpool

from burnin.page.telling.tell import tell
from burnin.page.watching import Watching
from burnin.report.languages.catalogue import Catalogue

MOST_STREAMS = 16
RETRY_MS = 2000
_LOOK_EVERY_S = 0.2
_FIRST_LOOK_EVERY_S = 0.01
"""While the record is opened for whoever asks first."""
_ALIVE_EVERY_S = 10.0
"""A comment so often, so that a connection that is gone is noticed."""
_ID = re.compile(r"(?P<epoch>[0-9a-f]{8})-(?P<generation>[0-9]{1,9})-(?P<revision>[0-9]{1,12})")


@dataclass(frozen=True)
class Position:
    """How far a page has the curves of a record."""

    epoch: str = ""
    generation: int = 0
    revision: int = 0

    def __str__(self) -> str:
        return f"{self.epoch}-{self.generation}-{self.revision}"


def position_of(last_event_id: str) -> Position:
    """What an id says; the beginning for one that is none of ours."""
    found = _ID.fullmatch(last_event_id)
    if found is None:
        return Position()
    return Position(found["epoch"], int(found["generation"]), int(found["revision"]))


def event(name: str, data: object, position: Position) -> bytes:
    """One event; JSON has no line break of its own, so that its data are one line."""
    text = json.dumps(data, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return f"event: {name}\nid: {position}\ndata: {text}\n\n".encode()


async def events(
    watching: Watching,
    words: Catalogue,
    has: Position,
    ended: Callable[[], bool],
    folder: Path | None = None,
) -> AsyncIterator[bytes]:
    """Everything of a record now, then what changes, until `ended`."""
    yield f"retry: {RETRY_MS}\n\n".encode()
    shown: tuple[str, int, bool] | None = None
    spoke_s = time.monotonic()
    with watching.shown(folder):
        while not ended():
            now = watching.revision_of(folder)
            if not now[-1]:
                await asyncio.sleep(_FIRST_LOOK_EVERY_S)
                continue
            if now != shown:
                shown = now
                parts, has = news(watching, words, has, folder)
                for part in parts:
                    yield part
                spoke_s = time.monotonic()
            elif time.monotonic() - spoke_s > _ALIVE_EVERY_S:
                yield b": still here\n\n"
                spoke_s = time.monotonic()
            await asyncio.sleep(_LOOK_EVERY_S)


async def changes(
    name: str,
    revision: Callable[[], object],
    tell: Callable[[], object],
    ended: Callable[[], bool],
) -> AsyncIterator[bytes]:
    """What `tell` says now, whole, and again with each other revision (None: nothing yet)."""
    yield f"retry: {RETRY_MS}\n\n".encode()
    shown: object = None
    spoke_s = time.monotonic()
    while not ended():
        now = revision()
        if now is None:
            await asyncio.sleep(_FIRST_LOOK_EVERY_S)
            continue
        if now != shown:
            shown = now
            yield event(name, await run_in_threadpool(tell), Position())
            spoke_s = time.monotonic()
        elif time.monotonic() - spoke_s > _ALIVE_EVERY_S:
            yield b": still here\n\n"
            spoke_s = time.monotonic()
        await asyncio.sleep(_LOOK_EVERY_S)


def news(
    watching: Watching, words: Catalogue, has: Position, folder: Path | None = None
) -> tuple[list[bytes], Position]:
    """State and course as they are now, the course from where the page has it."""
    with watching.seen(folder) as seen:
        curves = seen.curves
        now = Position(seen.epoch, curves.generation, curves.revision)
        same = has.epoch == now.epoch and has.generation == now.generation
        known = has.revision if same and has.revision <= now.revision else 0
        course = {"whole": known == 0, **curves.since(known)}
        state = tell(seen, words, str(watching.results))
    parts = [event("state", state, now)]
    if not same or now.revision != has.revision:
        parts.insert(0, event("course", course, now))
    return parts, now
