"""Failing words: all listed to a file, counted by stride and data line; what lines they hint at."""

from __future__ import annotations

import os
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

from burnin.core.files.disk import end_of_torn, open_to_append, sync, sync_folder, write_all
from burnin.core.meaning import Cause, Term
from burnin.engine.job import FailingWord
from burnin.engine.meanings import EngineCause, EngineTerm

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

COLUMNS = "address_bytes,expected,got,flipped_bits,pattern,step,pass\n"
EXAMPLES = 64
STRIDE_SAMPLE = 1 << 16


class FailingWords:
    """Gathers failing words; `path` may be empty. At most `limit` words go to the file.

    Raises OSError where there can be no file. Words that the disk will not take are counted all the
    same: what failed is dearer than the list of it, and a full disk must not end the test that
    accuses.
    """

    def __init__(self, path: str, limit: int) -> None:
        self._limit = limit
        self._strides: Counter[int] = Counter()
        self._path = Path(path)
        self._file = open_to_append(self._path) if path else None
        if self._file is not None:
            try:
                _begin(self._file, self._path)
            except OSError:
                self._limit = 0
        self.total = 0
        self.listed = 0
        self.by_pattern: Counter[str] = Counter()
        self.bits = [0] * 32
        self.examples: list[FailingWord] = []

    @property
    def listing(self) -> bool:
        """Whether the file still takes words; beyond the limit they are only counted."""
        return self.listed < self._limit

    def add(
        self,
        addresses: NDArray[np.uint64],
        expected: NDArray[np.uint32],
        got: NDArray[np.uint32],
        pattern: str,
        step: int,
        round_number: int,
    ) -> list[FailingWord]:
        """Take failing words, each array of shape (n,); returns the new examples among them.

        `addresses` are word addresses. What goes to the file is on disk when this returns.
        """
        import numpy as np

        count = len(addresses)
        if not count:
            return []
        order = np.argsort(addresses, kind="stable")
        addresses, expected, got = addresses[order], expected[order], got[order]
        flipped = expected ^ got
        for lane in range(32):
            self.bits[lane] += int(np.count_nonzero(flipped & np.uint32(1 << lane)))
        self._note_strides(addresses)
        self.count_only(count, pattern)
        room = max(0, self._limit - self.listed)
        if self._file is not None and room:
            tail = f",{pattern},{step},{round_number}\n"
            rows = _rows(addresses[:room], expected[:room], got[:room], tail)
            self._list(self._file, rows, min(count, room))
        elif self._file is None:
            self.listed += min(count, room)
        new = [
            FailingWord(int(a) * 4, int(e), int(g), pattern)
            for a, e, g in zip(
                addresses[:EXAMPLES], expected[:EXAMPLES], got[:EXAMPLES], strict=True
            )
        ][: EXAMPLES - len(self.examples)]
        self.examples += new
        return new

    def _list(self, file: int, rows: bytes, count: int) -> None:
        """Words to the file, on disk when this returns; none any more once the disk refused one."""
        try:
            write_all(file, rows, self._path)
            sync(file, self._path)
        except OSError:
            self._limit = self.listed
        else:
            self.listed += count

    def count_only(
        self, failing: int, pattern: str, bit_counts: tuple[int, ...] = ()
    ) -> None:
        """Count failing words that are not listed."""
        self.total += failing
        self.by_pattern[pattern] += failing
        for lane, count in enumerate(bit_counts):
            self.bits[lane] += count

    def _note_strides(self, addresses: NDArray[np.uint64]) -> None:
        import numpy as np

        gaps, counts = np.unique(np.diff(addresses[:STRIDE_SAMPLE]), return_counts=True)
        for gap, count in zip(gaps, counts, strict=True):
            if gap:
                self._strides[int(gap) * 4] += int(count)

    @property
    def stride_bytes(self) -> int:
        """The distance of more than half of the neighbouring failing words, or 0."""
        if not self._strides:
            return 0
        stride, count = self._strides.most_common(1)[0]
        return stride if count * 2 > self._strides.total() else 0

    def hint(self) -> Cause | None:
        """What bit lanes and stride point at; None when nothing failed."""
        if not self.total:
            return None
        stride = self.stride_bytes
        spacing: Term | None = None
        if stride == 4:
            spacing = EngineTerm.SIDE_BY_SIDE()
        elif stride:
            spacing = EngineTerm.APART(stride_bytes=stride)
        lanes = [lane for lane, count in enumerate(self.bits) if count * 20 > self.total]
        if len(lanes) == 1:
            return EngineCause.ONE_BIT(bit=lanes[0], spacing=spacing)
        for code, wide in ((EngineCause.ONE_BYTE, 8), (EngineCause.ONE_HALF_WORD, 16)):
            if lanes and lanes[-1] // wide == lanes[0] // wide:
                return code(first_bit=lanes[0], last_bit=lanes[-1], spacing=spacing)
        return EngineCause.BITS_ALL_OVER(spacing=spacing)

    def close(self) -> None:
        """Close the file."""
        if self._file is not None:
            os.close(self._file)
            self._file = None


def _begin(file: int, path: Path) -> None:
    """The header, or the end of a last line that a cut tore; raises OSError."""
    there = path.read_bytes()
    if not there:
        write_all(file, COLUMNS.encode(), path)
        sync(file, path)
        sync_folder(path.parent)
    elif not there.endswith(b"\n"):
        write_all(file, end_of_torn(there[there.rfind(b"\n") + 1 :]), path)


def _hex(values: NDArray[np.uint64], digits: int) -> NDArray[np.uint8]:
    """ASCII hexadecimal with leading 0x, shape (n, 2 + digits)."""
    import numpy as np

    table = np.frombuffer(b"0123456789abcdef", np.uint8)
    shifts = np.arange(4 * (digits - 1), -1, -4, dtype=np.uint64)
    nibbles = (values[:, None] >> shifts) & np.uint64(15)
    text = np.empty((len(values), digits + 2), np.uint8)
    text[:, :2] = np.frombuffer(b"0x", np.uint8)
    text[:, 2:] = table[nibbles.astype(np.intp)]
    return text


def _rows(
    addresses: NDArray[np.uint64],
    expected: NDArray[np.uint32],
    got: NDArray[np.uint32],
    tail: str,
) -> bytes:
    """CSV rows of equal width, built by array so that millions take seconds."""
    import numpy as np

    count = len(addresses)
    comma = np.full((count, 1), ord(","), np.uint8)
    wide = [
        _hex(addresses * np.uint64(4), 12), comma,
        _hex(expected.astype(np.uint64), 8), comma,
        _hex(got.astype(np.uint64), 8), comma,
        _hex((expected ^ got).astype(np.uint64), 8),
        np.broadcast_to(np.frombuffer(tail.encode(), np.uint8), (count, len(tail.encode()))),
    ]
    return np.concatenate(wide, axis=1).tobytes()
