"""The ground that failing words are compared with: uniform words over the area that was listed."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from burnin.diagnosis.memory_fault.failing_words import WORD_BYTES

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_WORDS = 4096
_SEED = 17


@dataclass(frozen=True)
class Ground:
    """Every word from `first_bytes` up to `end_bytes` could have been listed.

    `even`: parities of differences are looked at, which are even half of the time by chance.
    """

    first_bytes: int
    end_bytes: int
    even: bool = False

    @property
    def bits(self) -> tuple[int, ...]:
        """Numbers of the address bits that vary over the ground."""
        differ = self.first_bytes ^ max(self.first_bytes, self.end_bytes - 1)
        return tuple(range(2, differ.bit_length()))

    @cached_property
    def words(self) -> NDArray[np.uint64]:
        """Byte addresses of uniform words, shape (4096,)."""
        import numpy as np

        random = np.random.default_rng(_SEED)
        first, end = self.first_bytes // WORD_BYTES, max(1, self.end_bytes // WORD_BYTES)
        found = random.integers(min(first, end - 1), end, _WORDS, dtype=np.uint64)
        return found * np.uint64(WORD_BYTES)

    def share(self, mask: int, wanted: int) -> float:
        """Share of the ground's words with that parity, never quite 0 or 1."""
        import numpy as np

        if self.even:
            return 0.5
        odd = np.bitwise_count(self.words & np.uint64(mask)) & np.uint8(1)
        return min(0.98, max(0.02, float(np.mean(odd == wanted))))
