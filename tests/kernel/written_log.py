"""What an emulated drive was written, in order, and the drive as a power cut leaves it.

Format of the log: Linux Documentation/admin-guide/device-mapper/log-writes.rst, which QEMU's
``blklogwrites`` keeps too. A flush makes durable what was written before it; of what came after it
any part may have reached the medium, in any order, and a write of several sectors may be torn.
"""

from __future__ import annotations

import random
import struct
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

SECTOR = 512
_MAGIC = 0x6A736677736872
_SUPER, _ENTRY = struct.Struct("<QQQI"), struct.Struct("<QQQQ")
_FLUSH, _FUA, _DISCARD = 1, 2, 4
_TEARS = 0.3
"""Share of the unflushed writes that are torn (common practice, no source)."""


@dataclass(frozen=True)
class Write:
    """One entry; `data_at` is where its data lies in the log."""

    number: int
    sector: int
    sectors: int
    flags: int
    data_at: int

    @property
    def flushes(self) -> bool:
        """Whether all that was written before is on the medium once this is done."""
        return bool(self.flags & _FLUSH)


def entries_count(log: Path) -> int:
    """How many entries the log has by now; 0 before it is begun."""
    with log.open("rb") as file:
        head = file.read(_SUPER.size)
    if len(head) < _SUPER.size:
        return 0
    magic, _, count, _ = _SUPER.unpack(head)
    return int(count) if magic == _MAGIC else 0


def entries(log: Path) -> Iterator[Write]:
    """All entries, oldest first."""
    count, at = entries_count(log), SECTOR
    with log.open("rb") as file:
        for number in range(count):
            file.seek(at)
            sector, sectors, flags, _ = _ENTRY.unpack(file.read(_ENTRY.size))
            yield Write(number, sector, sectors, flags, at + SECTOR)
            at += SECTOR + (0 if flags & _DISCARD else sectors * SECTOR)


@dataclass(frozen=True)
class Cut:
    """Where the power went: before entry `at`; of `open_writes` not yet flushed `kept` arrived."""

    at: int
    open_writes: int
    kept: int


def cut_image(log: Path, image: Path, size: int, at: int, draw: random.Random) -> Cut:
    """The drive as a cut before entry `at` may leave it; `size` in bytes."""
    before = [write for write in entries(log) if write.number < at]
    flushed = max((write.number for write in before if write.flushes), default=-1)
    standing = [w for w in before if w.number <= flushed or w.flags & _FUA]
    unsure = [w for w in before if w.number > flushed and not w.flags & (_FUA | _FLUSH)]
    kept = draw.sample(unsure, draw.randint(0, len(unsure)))
    with log.open("rb") as source, image.open("w+b") as target:
        target.truncate(size)
        for write in standing:
            _put(source, target, write, write.sectors)
        for write in kept:
            torn = write.sectors > 1 and draw.random() < _TEARS
            _put(source, target, write, draw.randint(0, write.sectors) if torn else write.sectors)
    return Cut(at, len(unsure), len(kept))


def _put(source: BinaryIO, target: BinaryIO, write: Write, sectors: int) -> None:
    target.seek(write.sector * SECTOR)
    if write.flags & _DISCARD:
        target.write(bytes(sectors * SECTOR))
        return
    source.seek(write.data_at)
    target.write(source.read(sectors * SECTOR))
