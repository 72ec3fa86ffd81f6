"""A connection that is ended where its other end stalls: a slow head, or nobody who reads.

The server's library waits for a request for ever, and for a reader too; what is bounded here is
how long one may hold a connection without a request in it, and how long what was written may lie.
"""

from __future__ import annotations

import asyncio
from typing import Any

from uvicorn.protocols.http.h11_impl import H11Protocol

HEAD_S = 10.0
"""Longest from the begin of a connection, or the end of a request, to the next one's whole head."""
UNREAD_S = 20.0
"""Longest that what was written may wait for its reader."""
_LOOK_EVERY_S = 2.0


class Patient(H11Protocol):
    """Speaks HTTP/1.1 as the library does, but not for ever."""

    _look: asyncio.TimerHandle | None = None
    _idle_since_s: float | None = None
    _unread_since_s: float | None = None

    def connection_made(self, transport: Any) -> None:
        """Begin to look at the connection from time to time."""
        super().connection_made(transport)
        self._look_again()

    def connection_lost(self, exc: Exception | None) -> None:
        """Nothing to look at any more."""
        if self._look is not None:
            self._look.cancel()
        super().connection_lost(exc)

    def pause_writing(self) -> None:
        """Nobody reads what lies there."""
        self._unread_since_s = self.loop.time()
        super().pause_writing()

    def resume_writing(self) -> None:
        """It was read."""
        self._unread_since_s = None
        super().resume_writing()

    def _look_again(self) -> None:
        now_s = self.loop.time()
        at_work = self.cycle is not None and not self.cycle.response_complete
        if at_work:
            self._idle_since_s = None
        elif self._idle_since_s is None:
            self._idle_since_s = now_s
        idle = self._idle_since_s is not None and now_s - self._idle_since_s > HEAD_S
        unread = self._unread_since_s is not None and now_s - self._unread_since_s > UNREAD_S
        if idle or unread:
            self.transport.abort()
            return
        self._look = self.loop.call_later(_LOOK_EVERY_S, self._look_again)
