"""Memory words that read back wrong, column by column, with what is known of the test."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

WORD_BYTES = 4


@dataclass(frozen=True, eq=False)
class FailingWords:
    """Failing words, every array of shape (n,), one element a line of the list.

    `address_bytes` are byte addresses of 32-bit words from the start of the tested area;
    `expected` and `got` the words; `pattern` an index into `pattern_names`; `pass_number` counts
    from 0; `memory_c` the memory's temperature in °C or NaN. Every word below `swept_bytes` was
    tested, and `failing_total` failed, listed or not. `page_bytes`: the driver may have laid pages
    of that size in any order (None: nobody knows). `tested_c`: least and highest temperature of
    the memory during the whole test, in °C.
    """

    address_bytes: NDArray[np.uint64]
    expected: NDArray[np.uint32]
    got: NDArray[np.uint32]
    pattern: NDArray[np.uint8]
    pattern_names: tuple[str, ...]
    pass_number: NDArray[np.uint16]
    memory_c: NDArray[np.float64]
    swept_bytes: int
    failing_total: int
    page_bytes: int | None = None
    tested_c: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        """Raise ValueError where columns differ in length or a word lies outside the area."""
        columns = (self.expected, self.got, self.pattern, self.pass_number, self.memory_c)
        if any(column.shape != self.address_bytes.shape for column in columns):
            raise ValueError("the columns of failing words differ in length")
        if len(self) and int(self.address_bytes.max()) >= self.swept_bytes:
            raise ValueError("a failing word lies outside the swept area")
        if self.page_bytes is not None and self.page_bytes & (self.page_bytes - 1):
            raise ValueError("a page has a power of two of bytes")

    def __len__(self) -> int:
        return len(self.address_bytes)

    @property
    def flipped(self) -> NDArray[np.uint32]:
        """Bits that differ, shape (n,)."""
        return self.expected ^ self.got

    @property
    def all_listed(self) -> bool:
        """Whether every failing word is in the list."""
        return self.failing_total <= len(self)

    def only(self, kept: NDArray[np.bool_]) -> FailingWords:
        """The words where `kept`, shape (n,), is true; what else failed is as if not listed."""
        away = len(self) - int(kept.sum())
        return replace(
            self,
            address_bytes=self.address_bytes[kept],
            expected=self.expected[kept],
            got=self.got[kept],
            pattern=self.pattern[kept],
            pass_number=self.pass_number[kept],
            memory_c=self.memory_c[kept],
            failing_total=max(0, self.failing_total - away),
        )
