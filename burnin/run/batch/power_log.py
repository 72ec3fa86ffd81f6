"""What each card of a batch was counted at, row by row, on disk before anybody acts on it."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from pathlib import Path

from burnin.core.clock import Clock, iso
from burnin.core.files.disk import open_to_append, sync, write_all

HEAD = "at_s,time_utc,card,what,counted_w,budget_w"


class PowerLog:
    """A CSV file; one that cannot be written to is told of once, and the batch goes on."""

    def __init__(
        self,
        path: Path,
        clock: Clock,
        budget_w: float | None,
        broke: Callable[[str], None],
        *,
        simulated: bool = False,
    ) -> None:
        """`broke` is told in the system's words why the file holds no more."""
        self._simulated = simulated
        self._path, self._clock, self._budget_w, self._broke = path, clock, budget_w, broke
        self._handle: int | None = None
        try:
            self._handle = open_to_append(path)
            if not path.stat().st_size:
                self._put(f"{HEAD},SIMULATED" if simulated else HEAD)
        except OSError as error:
            self._break(error)

    def __call__(self, at_s: float, card: str, what: str, counted_w: float) -> None:
        """Put down one change."""
        budget = "" if self._budget_w is None else f"{self._budget_w:.1f}"
        time_utc, mark = iso(self._clock.utc()), "," if self._simulated else ""
        try:
            self._put(f"{at_s:.3f},{time_utc},{card},{what},{counted_w:.1f},{budget}{mark}")
        except OSError as error:
            self._break(error)

    def close(self) -> None:
        """Nothing follows."""
        if self._handle is not None:
            os.close(self._handle)
            self._handle = None

    def _put(self, row: str) -> None:
        if self._handle is not None:
            if not os.fstat(self._handle).st_nlink:  # removed: what is written now nobody finds
                words = os.strerror(errno.ENOENT)
                raise FileNotFoundError(errno.ENOENT, words, str(self._path))
            write_all(self._handle, f"{row}\n".encode(), self._path)
            sync(self._handle, self._path)

    def _break(self, error: OSError) -> None:
        self.close()
        self._broke(error.strerror or str(error))
