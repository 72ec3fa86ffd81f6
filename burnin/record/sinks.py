"""A run's stream of events, and who listens to it.

The record is the one sink that is waited for, and the only one that may end a run by raising. Every
other one (terminal, JSON lines, what a shop adds) listens in a thread of its own: one that is slow
holds nothing up, and one that raises is detached and named in the record.
"""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Callable
from pathlib import Path
from typing import Protocol, cast

from burnin.core import seams
from burnin.core.events import Event, SinkDetached
from burnin.core.meaning import Reason
from burnin.record.reasons import RecordReason

MOST_BEHIND = 200_000
"""Events that may wait for a sink before it is given up: hours of a run at 20 samples a second."""


class Sink(Protocol):
    """Takes the events of one run, in their order."""

    @property
    def name(self) -> str:
        """What the record calls it where it had to be detached."""
        ...

    def __call__(self, event: Event) -> None:
        """Take one event."""
        ...

    def close(self) -> None:
        """The run is over, or this sink was detached."""
        ...


SinkFor = Callable[[Path], Sink]
"""Member of the seam `sinks`: given the record's folder, the sink of one run."""


def registered_sinks(folder: Path) -> list[Sink]:
    """Every sink that is registered; raises BadInput for one that cannot be loaded."""
    return [cast(SinkFor, member)(folder) for member in seams.members("sinks").values()]


class Stream:
    """Hands each event to the record, then to whoever else listens.

    `publish` returns once the record has the event; what the record raises comes through.
    """

    def __init__(self, record: Sink) -> None:
        self._record = record
        self._listeners: list[_Listener] = []
        self._publishing = threading.RLock()

    def attach(self, sink: Sink) -> None:
        """Let a sink have every event from now on."""
        with self._publishing:
            self._listeners.append(_Listener(sink))

    def publish(self, event: Event) -> None:
        """One event: on record when this returns; raises what the record raises."""
        with self._publishing:
            self._detach_broken()
            self._record(event)
            for listener in self._listeners:
                listener.put(event)

    def settle(self, seconds: float) -> bool:
        """Wait until every sink has seen all events, `seconds` at most; whether they have.

        For a prompt, which must not be asked above lines that are still to come.
        """
        end_s = time.monotonic() + seconds
        with self._publishing:
            listeners = tuple(self._listeners)
        settled = [listener.settle(end_s - time.monotonic()) for listener in listeners]
        with self._publishing:
            self._detach_broken()
        return all(settled)

    def close(self, seconds: float = 5.0) -> None:
        """Let the sinks see the end, name those that broke or hang, close them, then the record.

        Raises what the record raises.
        """
        try:
            self.settle(seconds)
            for listener in self._listeners:
                listener.end(seconds)
            self._detach_broken()
            self._listeners.clear()
        finally:
            self._record.close()

    def _detach_broken(self) -> None:
        """Name every sink that raised or fell behind, to the record and to the others."""
        for broken in [one for one in self._listeners if one.why_broken is not None]:
            self._listeners.remove(broken)
            broken.end(0.0)
            assert broken.why_broken is not None
            detached = SinkDetached(broken.name, broken.why_broken)
            self._record(detached)
            for listener in self._listeners:
                listener.put(detached)


class _Listener:
    """A sink with its thread and the events that wait for it."""

    def __init__(self, sink: Sink) -> None:
        self.name = sink.name
        self.why_broken: Reason | None = None
        self._sink = sink
        self._waiting: deque[Event] = deque()
        self._busy, self._ending = False, False
        self._changed = threading.Condition()
        self._thread = threading.Thread(target=self._listen, name=f"sink {self.name}", daemon=True)
        self._thread.start()

    def put(self, event: Event) -> None:
        """Add an event to what waits; never waits itself."""
        with self._changed:
            if self.why_broken is not None:
                return
            self._waiting.append(event)
            self._changed.notify_all()
            if self._behind > MOST_BEHIND:
                self._give_up()

    def settle(self, seconds: float) -> bool:
        """Whether all was seen within `seconds`."""
        with self._changed:
            done = self._changed.wait_for(lambda: not self._waiting and not self._busy, seconds)
        return bool(done)

    def end(self, seconds: float) -> None:
        """Let the thread go once it has seen all; one that has not after `seconds` is given up."""
        with self._changed:
            self._ending = True
            self._changed.notify_all()
        self._thread.join(seconds)
        if self._thread.is_alive() and self.why_broken is None:
            self._give_up()

    def _listen(self) -> None:
        try:
            while (event := self._next()) is not None:
                self._sink(event)
        except Exception as error:
            self._break(error)
        try:
            self._sink.close()
        except Exception as error:
            self._break(error)

    def _next(self) -> Event | None:
        with self._changed:
            self._busy = False
            self._changed.notify_all()
            self._changed.wait_for(lambda: self._waiting or self._ending)
            if not self._waiting:
                return None
            self._busy = True
            return self._waiting.popleft()

    @property
    def _behind(self) -> int:
        return len(self._waiting) + int(self._busy)

    def _give_up(self) -> None:
        with self._changed:
            self.why_broken = RecordReason.SINK_TOO_SLOW(events_count=self._behind)
            self._waiting.clear()

    def _break(self, error: Exception) -> None:
        with self._changed:
            told = RecordReason.SINK_RAISED(error=type(error).__name__, words=str(error))
            self.why_broken = self.why_broken or told
            self._waiting.clear()
            self._busy = False
            self._changed.notify_all()
