"""Board files: how addresses and data lines of a model's memory fall to its chips, by name.

A TOML file (`example_board.toml` beside this has one, of an invented card):

- ``name``: the board, in words;
- ``chips``: names of the chips as they are printed on the board, channel by channel; where a chip
  has fewer than 32 data lines, the chips of one channel from data line 0 on;
- ``data_lines_per_chip``: 32 (default), 16 or 8;
- either ``parities``: a list of lists of byte address bits; bit n of the channel's number is the
  parity of the address bits in list n;
- or ``stripe_bytes`` and ``modulus``: the channel's number is the remainder of the address,
  divided by the stripe, on division by the modulus.

Addresses are those of the test: of a card whose driver lays pages in any order no board file can
tell a chip.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from burnin.core.errors import BadInput
from burnin.core.files.bounded import TEXT_BYTES, read_at_most
from burnin.core.system import cannot_read
from burnin.diagnosis.memory_fault.answer import MemoryAnswer
from burnin.diagnosis.memory_fault.failing_words import FailingWords
from burnin.diagnosis.memory_fault.refusals import BoardRefusal

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

EXAMPLE = Path(__file__).parent / "example_board.toml"
WORD_LINES = 32
_LEAST_SHARE = 0.2
_MOST_CHIPS = 4


class _BoardFile(BaseModel):
    """The file's content as it stands there."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)

    name: str = Field(min_length=1, max_length=120)
    chips: list[str] = Field(min_length=1, max_length=256)
    data_lines_per_chip: int = WORD_LINES
    parities: list[list[int]] | None = None
    stripe_bytes: int | None = None
    modulus: int | None = None

    @model_validator(mode="after")
    def _fits(self) -> _BoardFile:
        if (self.parities is None) == (self.stripe_bytes is None or self.modulus is None):
            raise ValueError("needs either parities or both stripe_bytes and modulus")
        if self.parities is not None and (self.stripe_bytes or self.modulus):
            raise ValueError("has parities and a stripe or modulus beside them")
        for number, bits in enumerate(self.parities or ()):
            if not bits or len(set(bits)) != len(bits) or not all(2 <= b < 48 for b in bits):
                raise ValueError(f"parities: list {number}: different bits from 2 to 47 are needed")
        if self.stripe_bytes is not None and (
            self.stripe_bytes < 4 or self.stripe_bytes & (self.stripe_bytes - 1)
        ):
            raise ValueError("stripe_bytes: a power of two, at least 4, is needed")
        if self.modulus is not None and not 2 <= self.modulus <= 64:
            raise ValueError("modulus: 2 to 64 channels are needed")
        if self.data_lines_per_chip not in (8, 16, 32):
            raise ValueError("data_lines_per_chip: 8, 16 or 32 is needed")
        channels = self.modulus or 1 << len(self.parities or ())
        needed = channels * WORD_LINES // self.data_lines_per_chip
        if len(self.chips) != needed or len(set(self.chips)) != needed:
            raise ValueError(f"chips: {needed} different names are needed, has {len(self.chips)}")
        return self


@dataclass(frozen=True)
class Board:
    """A board's chips by channel and data line; `masks` are over byte addresses.

    `masks` empty: the channel is ``address // stripe_bytes % modulus``.
    """

    name: str
    chips: tuple[str, ...]
    data_lines_per_chip: int
    masks: tuple[int, ...]
    stripe_bytes: int
    modulus: int

    def channel_of(self, address_bytes: NDArray[np.uint64]) -> NDArray[np.int64]:
        """Numbers of the channels of byte addresses, shape (n,)."""
        import numpy as np

        if not self.masks:
            stripes = address_bytes // np.uint64(self.stripe_bytes)
            return (stripes % np.uint64(self.modulus)).astype(np.int64)
        found = np.zeros(len(address_bytes), np.int64)
        for number, mask in enumerate(self.masks):
            odd = np.bitwise_count(address_bytes & np.uint64(mask)) & np.uint8(1)
            found |= odd.astype(np.int64) << number
        return found

    def chip_of(self, channel: int, data_line: int) -> str:
        """Name of the chip at a channel's data line (0 to 31)."""
        per_channel = WORD_LINES // self.data_lines_per_chip
        return self.chips[channel * per_channel + data_line // self.data_lines_per_chip]


def read_board(path: Path) -> Board:
    """Read a board file; raises BadInput with file and place where it cannot be used."""
    try:
        content: Mapping[str, object] = tomllib.loads(read_at_most(path, TEXT_BYTES).decode())
    except OSError as error:
        raise BadInput(cannot_read(path, error)) from error
    except (ValueError, RecursionError) as error:
        raise BadInput(BoardRefusal.NO_TOML(file=str(path), words=str(error))) from error
    try:
        found = _BoardFile.model_validate(dict(content))
    except ValidationError as error:
        first = error.errors()[0]
        place = ".".join(str(part) for part in first["loc"])
        told = str(first.get("ctx", {}).get("error") or first["msg"])
        raise BadInput(
            BoardRefusal.FIELD(file=str(path), field=place or '-', words=told)
        ) from error
    masks = tuple(sum(1 << bit for bit in bits) for bits in found.parities or ())
    return Board(
        found.name,
        tuple(found.chips),
        found.data_lines_per_chip,
        masks,
        found.stripe_bytes or 0,
        found.modulus or 1 << len(masks),
    )


def chips_of(board: Board, words: FailingWords, answer: MemoryAnswer) -> tuple[str, ...]:
    """Names of the chips that hold the failing bits, most failing words first.

    A chip counts that holds at least a fifth of all flips; empty where more than four do, or pages
    lie in no known order: then the board file does not tell.
    """
    import numpy as np

    if answer.rule.page_bytes is not None:
        return ()
    channels = board.channel_of(words.address_bytes)
    counts: dict[str, int] = {}
    for line in answer.affected_bits:
        wrong = (words.flipped >> np.uint32(line)) & np.uint32(1) == 1
        for channel, count in enumerate(np.bincount(channels[wrong]).tolist()):
            if count:
                name = board.chip_of(channel, line)
                counts[name] = counts.get(name, 0) + count
    least = _LEAST_SHARE * sum(counts.values())
    often = sorted((-count, name) for name, count in counts.items() if count >= least)
    return tuple(name for _, name in often) if len(often) <= _MOST_CHIPS else ()
