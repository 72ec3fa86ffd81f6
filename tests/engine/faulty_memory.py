"""Memory cells with the classic faults, in the order of the march literature: one word at a time.

Fault classes as van de Goor, Testing Semiconductor Memories (1991), chapter 3, defines them
(cited from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from burnin.engine.device.passes import PassKind
from burnin.engine.device.patterns import passes, word


@dataclass
class FaultyMemory:
    """`on_write(memory, address, old, new)` gives what the cell holds afterwards."""

    words: int
    on_write: Callable[[FaultyMemory, int, int, int], int] = lambda _, __, ___, new: new
    on_pause: Callable[[FaultyMemory], None] = lambda _: None
    on_hammer: Callable[[FaultyMemory, int], None] = lambda _, __: None
    decode: Callable[[int], tuple[int, ...]] = lambda address: (address,)
    cells: list[int] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.cells = [0xDEADBEEF] * self.words

    def write(self, address: int, content: int) -> None:
        for cell in self.decode(address):
            self.cells[cell] = self.on_write(self, cell, self.cells[cell], content)

    def read(self, address: int) -> int:
        found = 0xFFFFFFFF
        for cell in self.decode(address):
            found &= self.cells[cell]
        return found


def failures(memory: FaultyMemory, pattern: str, seed: int = 1) -> Iterator[tuple[int, int, int]]:
    """(address, expected, got) of every word that one run of the family finds wrong."""
    for step in passes(pattern):
        order = range(memory.words - 1, -1, -1) if step.descending else range(memory.words)
        if step.kind is PassKind.PAUSE:
            memory.on_pause(memory)
        elif step.kind is PassKind.HAMMER:
            for address in order:
                memory.on_hammer(memory, address)
        else:
            for address in order:
                if step.expect >= 0:
                    expected = word(pattern, step.expect, address, seed)
                    got = memory.read(address)
                    if got != expected:
                        yield address, expected, got
                if step.write >= 0:
                    memory.write(address, word(pattern, step.write, address, seed))
