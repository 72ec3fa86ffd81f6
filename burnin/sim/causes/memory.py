"""Causes in the card's memory: a cell, a pair of cells, a data line, a chip."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from burnin.sim.causes.cause import Cause, Celsius

Bit = Annotated[int, Field(ge=0, le=31)]
Chip = Annotated[int, Field(ge=0)]


class MemoryCellCause(Cause):
    """One memory cell: stuck, or coupled to another bit of its word.

    The cell is bit `bit` (0 to 31) of the 32-bit word at byte address `address`; with `chip` the
    address counts inside that chip. `stuck_at`: it always reads so. `follows_bit`: it reads as
    that bit of the same word was written. `above_memory_c`: sound below that memory temperature.
    """

    kind: Literal["memory_cell"]
    address: Annotated[int, Field(ge=0, multiple_of=4)]
    bit: Bit
    stuck_at: Literal[0, 1] | None = None
    follows_bit: Bit | None = None
    chip: Chip | None = None
    above_memory_c: Celsius | None = None

    @model_validator(mode="after")
    def _one_of_both(self) -> MemoryCellCause:
        if (self.stuck_at is None) == (self.follows_bit is None):
            raise ValueError("give one of stuck_at and follows_bit")
        if self.follows_bit == self.bit:
            raise ValueError("follows_bit must be another bit than bit")
        return self


class MemoryLineCause(Cause):
    """One data line of one memory chip, stuck: every word of that chip reads that bit so."""

    kind: Literal["memory_line"]
    chip: Chip
    bit: Bit
    stuck_at: Literal[0, 1]
    above_memory_c: Celsius | None = None


class MemoryChipCause(Cause):
    """A whole memory chip that does not answer: its words read as the bus rests.

    `rests_at` is the bit that an undriven line reads as.
    """

    kind: Literal["memory_chip"]
    chip: Chip
    rests_at: Literal[0, 1] = 1
    above_memory_c: Celsius | None = None
