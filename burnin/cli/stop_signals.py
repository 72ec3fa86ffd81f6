"""What asks a run to end: Ctrl-C, the system's own request (SIGTERM), a terminal that is gone."""

from __future__ import annotations

import signal
from types import FrameType

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

    def __enter__(self) -> None:
        def ask(number: int, _: FrameType | None) -> None:
            self._first = self._first or number

        self._before = {
            number: signal.signal(number, ask)
            for number in HEARD
            if signal.getsignal(number) is not signal.SIG_IGN  # as `nohup` wants it
        }

    def __exit__(self, *_: object) -> None:
        for number, handler in self._before.items():
            signal.signal(number, handler)
