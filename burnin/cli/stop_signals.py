"""What asks a run to end: Ctrl-C, the system's own request (SIGTERM), a terminal that is gone."""

from __future__ import annotations

import signal
from types import FrameType
from typing import Self

from burnin.core.meaning import Reason
from burnin.guard.meanings import GuardReason

HEARD = tuple(
    getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)
)


class StopAsked:
    """While inside, these signals ask the run to stop; the first one counts."""

    def __init__(self) -> None:
        self._first: int | None = None

    def why(self) -> bool | Reason:
        """Why the run is to end; False while it is not."""
        if self._first is None:
            return False
        if self._first == signal.SIGINT:
            return GuardReason.STOPPED_BY_HAND()
        return GuardReason.STOPPED_BY_SIGNAL(signal=signal.Signals(self._first).name)

    def number(self) -> int:
        """The signal that asked first; 0 while none did."""
        return self._first or 0

    def __enter__(self) -> Self:
        def ask(number: int, _: FrameType | None) -> None:
            self._first = self._first or number

        self._before = {
            number: signal.signal(number, ask)
            for number in HEARD
            if signal.getsignal(number) is not signal.SIG_IGN  # as `nohup` wants it
        }
        return self

    def __exit__(self, *_: object) -> None:
        for number, handler in self._before.items():
            signal.signal(number, handler)
