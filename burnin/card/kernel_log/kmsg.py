"""The kernel's log read from ``/dev/kmsg``, from the moment of opening on, never waiting.

Where the kernel overwrote records before they were read, the next read fails with EPIPE once and
goes on with the oldest record that there is; how many were lost follows from their numbers.
"""

from __future__ import annotations

from burnin.card.files import RecordStream
from burnin.card.kernel_log.meanings import KernelSource
from burnin.card.kernel_log.records import KernelRecord, parse_record
from burnin.core.meaning import Source

PATH = "/dev/kmsg"
_MOST_AT_ONCE = 5000


class Kmsg:
    """Answers `burnin.card.kernel_log.log.KernelLog`."""

    def __init__(self, stream: RecordStream) -> None:
        self._stream = stream
        self._next: int | None = None
        self.lost = 0

    def read(self) -> tuple[KernelRecord, ...]:
        """Records since the last call, oldest first; raises OSError where it cannot be read."""
        found: list[KernelRecord] = []
        for _ in range(_MOST_AT_ONCE):
            try:
                data = self._stream.next()
            except BrokenPipeError:
                continue
            if data is None:
                break
            record = parse_record(data)
            if record is None or record.sequence is None:
                continue
            if self._next is not None and record.sequence > self._next:
                self.lost += record.sequence - self._next
            self._next = record.sequence + 1
            found.append(record)
        return tuple(found)

    def source(self) -> Source:
        """The file."""
        return KernelSource.LOG_FILE()

    def close(self) -> None:
        """Close it."""
        self._stream.close()
