"""Two threads keep the board: one sees within half a second what changed, one works it out.

They look only while somebody has a page of tickets open. What the log says is shown at once; what
follows from it (what is owed, the word of each run) comes when it is worked out, of open tickets
and of those whose page is open: the bench's processor belongs to the card under test.
"""

from __future__ import annotations

import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from burnin.core.errors import RecordError
from burnin.core.meaning import Value
from burnin.page.tickets.reading import stamp_of, ticket_seen
from burnin.page.tickets.seen import RunSeen, Stamp, TicketSeen, WorkedOut
from burnin.page.tickets.working_out import looked_over, worked_out
from burnin.record.event_log import LogEvent, read_log
from burnin.ticket.log.days_and_spans import utc_now
from burnin.ticket.log.store import logs_below
from burnin.ticket.log.ticket_from_log import LOG
from burnin.ticket.ticket_list import urgency

LOOK_EVERY_S = 0.5
_REST_SHARE = 3.0
"""Where there are so many tickets that a look takes long, it rests so many times as long."""


class TicketsWatch:
    """All tickets below `results`, by the names of their folders."""

    def __init__(self, results: Path) -> None:
        self._results = results
        self._tickets: dict[str, TicketSeen] = {}
        self._faults: dict[str, tuple[Stamp, Value]] = {}
        self._lock, self._ended = threading.Lock(), threading.Event()
        self._wanted, self._to_work = threading.Event(), threading.Event()
        self._viewers: Counter[str] = Counter()
        self.revision, self.looked = 0, False
        self._threads = [
            threading.Thread(target=target, name=name, daemon=True)
            for target, name in ((self._look_on, "tickets"), (self._work_on, "owed"))
        ]

    def begin(self) -> None:
        """Be ready to look, in threads of its own."""
        for thread in self._threads:
            thread.start()

    def end(self) -> None:
        """Look no longer."""
        self._ended.set()
        for event in (self._wanted, self._to_work):
            event.set()
        for thread in self._threads:
            if thread.is_alive():
                thread.join(2.0)

    @contextmanager
    def shown(self, name: str = "") -> Iterator[None]:
        """While a page of tickets is open: that of the ticket `name`, or the board."""
        with self._lock:
            self.looked = self.looked and self._viewers.total() > 0  # nobody looked meanwhile
            self._viewers[name] += 1
        self._wanted.set()
        self._to_work.set()
        try:
            yield
        finally:
            with self._lock:
                self._viewers[name] -= 1
                self._viewers = +self._viewers  # names that nobody asks for any more are dropped

    def look_soon(self) -> None:
        """Something changed just now: do not wait for the next look."""
        self._wanted.set()

    def tickets(self) -> list[TicketSeen]:
        """All tickets, the most urgent first, closed ones last."""
        now = utc_now()
        with self._lock:
            found = list(self._tickets.values())
        return sorted(found, key=lambda seen: urgency(seen.ticket, now))

    def faults(self) -> list[Value]:
        """A sentence for each ticket that cannot be read."""
        with self._lock:
            return [words for _, words in self._faults.values() if words]

    def fault(self, name: str) -> Value:
        """Why the ticket of a folder cannot be read; empty where it can, or where there is none."""
        with self._lock:
            return self._faults.get(name, ((), ""))[1]

    def ticket(self, name: str) -> TicketSeen | None:
        """A ticket by the name of its folder, None where there is none."""
        with self._lock:
            return self._tickets.get(name)

    def look(self) -> None:
        """See what changed since the last look."""
        there = logs_below(self._results)
        folders = {path.parent.parent.name: path.parent.parent for path in there}
        for gone in (self._tickets.keys() | self._faults.keys()) - folders.keys():
            with self._lock:
                self._tickets.pop(gone, None)
                self._faults.pop(gone, None)
                self.revision += 1
        for name, folder in folders.items():
            self._look_at(name, folder)
        if not self.looked:
            self.looked = True
            self.revision += 1

    def _look_at(self, name: str, folder: Path) -> None:
        stamp, before = stamp_of(folder), self._tickets.get(name)
        unlike = before is None or before.stamp != stamp
        begins_or_ends = before is not None and any(run.goes_on for run in before.runs)
        if name in self._faults and self._faults[name][0] == stamp:
            return
        if not unlike and not begins_or_ends:
            return
        fault: Value = ""
        try:
            seen = ticket_seen(folder, before, stamp)
        except RecordError as error:
            seen, fault = None, error.told
        except Exception as error:  # whatever it holds, the other tickets are shown
            seen, fault = None, f"{folder}: {type(error).__name__}: {error}"
        if seen is not None and before is not None and not unlike:
            if seen.runs == before.runs:
                return  # the run of a moment ago still goes on
            seen = replace(seen, worked_out=before.worked_out)
        with self._lock:
            if seen is None:
                self._tickets.pop(name, None)
                self._faults[name] = stamp, fault
            else:
                self._tickets[name] = seen
                self._faults.pop(name, None)
            self.revision += 1
        self._to_work.set()

    def _look_on(self) -> None:
        while not self._ended.is_set():
            began_s = time.monotonic()
            if self._viewers:
                self.look()
                self._to_work.set()  # the time of something that is owed may have come
            rest_s = max(LOOK_EVERY_S, _REST_SHARE * (time.monotonic() - began_s))
            self._wanted.wait(rest_s if self._viewers else None)
            self._wanted.clear()

    def _work_on(self) -> None:
        while not self._ended.is_set():
            if not self.work():
                self._to_work.wait()
                self._to_work.clear()

    def work(self) -> bool:
        """Work out one thing, the most urgent; whether there was any."""
        for seen in self.tickets():
            if seen.ticket.closed and seen.name not in self._viewers:
                continue
            run = next((r for r in reversed(seen.runs) if _is_to_look_over(r)), None)
            if run is not None and run is seen.runs[-1]:
                self._keep_run(seen, looked_over(run, self._ended.is_set))
                return True
            done = seen.worked_out
            if done is None or (done.until is not None and done.until <= utc_now()):
                self._keep(seen, worked_out(seen))
                return True
            if run is not None:
                self._keep_run(seen, looked_over(run, self._ended.is_set))
                return True
        return False

    def _keep(self, seen: TicketSeen, found: WorkedOut) -> None:
        """Unless the ticket has changed meanwhile: then it is worked out again."""
        with self._lock:
            now = self._tickets.get(seen.name)
            if now is not None and now.stamp == seen.stamp:
                self._tickets[seen.name] = replace(now, worked_out=found)
                self.revision += 1

    def _keep_run(self, seen: TicketSeen, run: RunSeen) -> None:
        with self._lock:
            now = self._tickets.get(seen.name)
            if now is None or run.judged is None:
                return
            same = [one.name == run.name and one.stamp == run.stamp for one in now.runs]
            if any(same):
                runs = (run if is_it else one for one, is_it in zip(now.runs, same, strict=True))
                self._tickets[seen.name] = replace(now, runs=tuple(runs))
                self.revision += 1


def story(seen: TicketSeen, most: int) -> list[LogEvent]:
    """The newest lines of a ticket's log, the newest first; none where it cannot be read now."""
    try:
        return list(reversed(read_log(seen.ticket.folder / LOG).events[-most:]))
    except RecordError:
        return []


def _is_to_look_over(run: RunSeen) -> bool:
    return run.judged is None and bool(run.run.ended_utc) and not run.goes_on
