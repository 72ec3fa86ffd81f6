"""The dead-man switch: what the worker may do, given what it last heard from its supervisor.

Law 3: the load dies with its supervisor. The supervisor beats after every fresh sample that
passed its guards. Beats may be late (the next slice waits), missing (the worker ends), or the pipe
may close (the supervisor is dead, also by SIGKILL: the worker ends at once).
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

PAUSE_AFTER_S = 0.25
"""A beat older than this: no further slice."""
END_AFTER_S = 2.0
"""A beat older than this while a job runs: the worker ends."""
STUCK_AFTER_S = 5.0
"""A slice that is not done after this: the card does not answer."""


class DeadManSwitch:
    """Shared between the thread that listens and the one that works."""

    def __init__(self, now_s: Callable[[], float] = time.monotonic) -> None:
        self._now_s = now_s
        self._changed = threading.Condition()
        self._beat_s = now_s()
        self._running = False
        self._stop = False
        self._slice_s: float | None = None

    def job_begins(self) -> None:
        """A job was taken: its first beat counts from now."""
        with self._changed:
            self._beat_s, self._running, self._stop = self._now_s(), True, False

    def job_ended(self) -> None:
        """No job runs: beats are not needed."""
        with self._changed:
            self._running, self._slice_s = False, None

    def beat(self) -> None:
        """The supervisor lives and its guards are content."""
        with self._changed:
            self._beat_s = self._now_s()
            self._changed.notify_all()

    def stop(self) -> None:
        """The supervisor wants the job to end."""
        with self._changed:
            self._stop = True
            self._changed.notify_all()

    def working(self, busy: bool) -> None:
        """The card is being waited for from now on, or no longer."""
        with self._changed:
            self._slice_s = self._now_s() if busy else None

    def must_end(self) -> bool:
        """Whether the worker must end now: a job runs, and no beat came for END_AFTER_S."""
        with self._changed:
            return self._running and self._now_s() - self._beat_s > END_AFTER_S

    def stuck(self) -> bool:
        """Whether the card has not finished a slice for STUCK_AFTER_S."""
        with self._changed:
            return self._slice_s is not None and self._now_s() - self._slice_s > STUCK_AFTER_S

    def may_go_on(self, rest_s: float) -> bool:
        """Rest for `rest_s`, then wait for a fresh beat; False: stop now."""
        with self._changed:
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
