"""The dead-man switch: what the worker may do, given what it last heard from its supervisor.

Law 3: the load dies with its supervisor. The supervisor beats after every fresh sample that
passed its guards. Beats may be late (the next slice waits), missing (the worker ends), or the pipe
may close (the supervisor is dead, also by SIGKILL: the worker ends at once). A beat counts from
the moment at which it was sent: both sides read one clock, so that beats which lay in the pipe
while a side stood still are as old as they are.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from enum import Enum

PAUSE_AFTER_S = 0.25
"""A beat older than this: no further slice."""
END_AFTER_S = 2.0
"""A beat older than this while a job runs: the worker ends."""
STUCK_AFTER_S = 1.5
"""A slice that was waited for so long and is not done: the card does not answer."""
FIRST_STUCK_AFTER_S = 30.0
"""The same for a job's first slices, before which drivers load and translate what they run; and for
every slice of a software adapter, which translates whenever something new is run."""
FIRST_SLICES = 16
STILL_AFTER_S = 30.0
"""Longest for anything else between two slices: memory taken, found words put on disk. Meanwhile at
most two slices are queued, so that nothing works the card."""
LOOK_COUNTS_S = 0.1
"""Longest that one look adds to such a time: a bench that let nobody run for a second, or a
worker that stood still, says nothing of the card."""


class Doing(Enum):
    """What the working thread does now."""

    NOTHING = "nothing, or it rests"
    PREPARE = "it takes memory or has kernels made, and nothing is on the card"
    WORK = "it prepares, queues, or looks at what was found"
    WAIT = "it waits for the card"


class Stuck(Enum):
    """What has stood still."""

    CARD = "a slice"
    WORK = "anything else"


class DeadManSwitch:
    """Shared between the thread that listens and the one that works."""

    def __init__(self, now_s: Callable[[], float] = time.monotonic) -> None:
        self._now_s = now_s
        self._changed = threading.Condition()
        self._beat_s = now_s()
        self._running = False
        self._stop = False
        self._begun = self._taken = self._over = 0
        self._prepares = False
        self._slices = 0
        self._does = Doing.NOTHING
        self.software = False
        self._watched_s = 0.0
        self._looked_s = now_s()

    @property
    def running(self) -> bool:
        """Whether a job runs."""
        return self._running

    @property
    def slices(self) -> int:
        """Slices of the present or last job that were begun."""
        return self._slices

    @property
    def beat_s(self) -> float:
        """When the newest beat was sent."""
        return self._beat_s

    def job_begins(self) -> int:
        """A job was ordered: its first beat counts from now. The job's number."""
        with self._changed:
            self._beat_s, self._running, self._stop = self._now_s(), True, False
            self._slices = 0
            self._begun += 1
            self._now(Doing.WORK)
            return self._begun

    def job_taken(self, number: int) -> bool:
        """The working thread has come to that job and prepares it; False: it is over already."""
        with self._changed:
            self._taken, self._prepares = number, number > self._over
            return self._goes_on()

    def prepared(self) -> bool:
        """The working thread goes on to the job's slices, or has none to do. False: it is over."""
        with self._changed:
            self._prepares = False
            return self._goes_on()

    def _goes_on(self) -> bool:
        """Whether the job that was taken is not over; while another waits, that one is watched."""
        if self._taken == self._begun:
            self._now(Doing.WORK if self._taken > self._over else Doing.NOTHING)
        return self._taken > self._over

    def idles(self, idle: bool) -> bool:
        """While a job prepares: nothing is on the card, until told False or `may_queue` is asked.

        False: it is over, or was stopped and can be (`ends_before_load`).
        """
        with self._changed:
            if not self._prepares:
                return True
            if self._taken <= self._over:
                return False
            self._now(Doing.PREPARE if idle else Doing.WORK)
            return not (idle and self._stop)

    def may_queue(self) -> bool:
        """Whether a job that prepares may put something on the card; waits for a fresh beat."""
        with self._changed:
            if not self._prepares:
                return True
            while self._taken > self._over and not self._stop:
                if self._now_s() - self._beat_s <= PAUSE_AFTER_S:
                    self._now(Doing.WORK)
                    return True
                self._changed.wait(END_AFTER_S)
            return False

    def ends_before_load(self) -> bool:
        """End the job that prepares, which was stopped, if nothing of it is on the card.

        False: its end was told by whoever heard the stop, or something is waited for.
        """
        with self._changed:
            over = self._taken <= self._over or not self._stop
            if over or self._does is not Doing.PREPARE:
                return False
            self._over, self._running = self._taken, False
            return True

    def stop_before_load(self) -> bool:
        """End the job at once if nothing of it is on the card; False: it is to be waited for.

        It has not been come to, or memory is taken and kernels are made for it.
        """
        with self._changed:
            waits = self._taken < self._begun or self._does is Doing.PREPARE
            if not self._running or not waits:
                return False
            self._over, self._running = self._begun, False
            self._changed.notify_all()
            return True

    def job_ended(self) -> None:
        """No job runs: beats are not needed."""
        with self._changed:
            self._running = False
            self._now(Doing.NOTHING)

    def beat(self, sent_s: float | None = None) -> None:
        """The supervisor lives and its guards are content; so it was at `sent_s`."""
        with self._changed:
            now_s = self._now_s()
            self._beat_s = max(self._beat_s, min(now_s, now_s if sent_s is None else sent_s))
            self._changed.notify_all()

    def stop(self) -> None:
        """The supervisor wants the job to end."""
        with self._changed:
            self._stop = True
            self._changed.notify_all()

    def slice_begins(self) -> None:
        """One more slice is prepared and queued."""
        with self._changed:
            self._slices += 1
            self._now(Doing.WORK)

    def waits(self, waiting: bool) -> None:
        """The card is being waited for from now on, or no longer."""
        with self._changed:
            if self._running:
                self._now(Doing.WAIT if waiting else Doing.WORK)

    def _now(self, does: Doing) -> None:
        self._does, self._watched_s, self._looked_s = does, 0.0, self._now_s()

    def must_end(self) -> bool:
        """Whether the worker must end now: a job runs, and no beat came for END_AFTER_S."""
        with self._changed:
            return self._running and self._now_s() - self._beat_s > END_AFTER_S

    def stuck(self) -> Stuck | None:
        """What has stood still for too long, looked at all the while."""
        with self._changed:
            now_s = self._now_s()
            self._watched_s += min(now_s - self._looked_s, LOOK_COUNTS_S)
            self._looked_s = now_s
            if self._does is Doing.WAIT:
                translates = self.software or self._slices <= FIRST_SLICES
                allowed_s = FIRST_STUCK_AFTER_S if translates else STUCK_AFTER_S
                return Stuck.CARD if self._watched_s > allowed_s else None
            stands = self._does in (Doing.WORK, Doing.PREPARE)
            still = stands and self._watched_s > STILL_AFTER_S
            return Stuck.WORK if still else None

    def may_go_on(self, rest_s: float) -> bool:
        """Rest for `rest_s`, then wait for a fresh beat; False: stop now."""
        with self._changed:
            self._now(Doing.NOTHING)
            rested_s = self._now_s() + rest_s
            while not self._stop:
                now_s = self._now_s()
                if now_s < rested_s:
                    self._changed.wait(rested_s - now_s)
                elif now_s - self._beat_s > PAUSE_AFTER_S:
                    self._changed.wait(END_AFTER_S)
                else:
                    return True
            return False
