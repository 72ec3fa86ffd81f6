"""``/dev/kmsg`` of the simulated bench: records as Linux's Documentation/ABI/testing/dev-kmsg."""

from __future__ import annotations

from burnin.sim.physics.kernel_says import KernelSays

PATH = "/dev/kmsg"


def record_bytes(log: KernelSays, number: int) -> bytes:
    """One record, by its number."""
    line = log.lines[number]
    head = f"{line.level},{number},{line.time_us},-;{line.text}\n"
    return f"{head} SUBSYSTEM=pci\n DEVICE={line.device}\n".encode()


def whole_log(log: KernelSays) -> bytes:
    """Every record, oldest first."""
    return b"".join(record_bytes(log, number) for number in range(len(log.lines)))


class SimulatedRecords:
    """Answers `burnin.card.files.RecordStream`: the log from the moment of opening on."""

    def __init__(self, log: KernelSays) -> None:
        self._log, self._next = log, len(log.lines)

    def next(self) -> bytes | None:
        """The next record; None where there is none yet."""
        if self._next >= len(self._log.lines):
            return None
        self._next += 1
        return record_bytes(self._log, self._next - 1)

    def close(self) -> None:
        """Nothing is held."""
