"""When each slice was begun, for whoever proves that a load ended in time.

Written where the environment names a file in BURNIN_SLICE_LOG: a line a slice, the moment at which
it was begun and that of the newest beat then, both in seconds of the bench's monotonic clock. Each
line is handed to the system before the slice is queued, so that it outlives a killed worker.
"""

from __future__ import annotations

import os
import time

from burnin.core.files.open_flags import CLOEXEC

FILE_NAMED_BY = "BURNIN_SLICE_LOG"


class SliceLog:
    """The log of this process; does nothing where none is asked for."""

    def __init__(self) -> None:
        path = os.environ.get(FILE_NAMED_BY)
        wanted = os.O_WRONLY | os.O_CREAT | os.O_APPEND | CLOEXEC
        self._file = os.open(path, wanted, 0o600) if path else None

    def begun(self, beat_s: float) -> None:
        """A slice begins now; the newest beat is of `beat_s`."""
        if self._file is not None:
            os.write(self._file, f"{time.monotonic():.6f} {beat_s:.6f}\n".encode())
