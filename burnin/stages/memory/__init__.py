"""Patterns are written over the free memory and read back. Start with `stage.py`.

Rule: fault classes and patterns after van de Goor, Testing Semiconductor Memories (1991); every
word that reads back otherwise than it was written is a fault.
"""

from __future__ import annotations

from importlib.resources import files

from burnin.card.capabilities import HasMemory, TellsRatings
from burnin.stages.kind import StageKind
from burnin.stages.memory.settings import Memory
from burnin.stages.memory.stage import carry_out

KIND = StageKind(
    name="memory",
    settings=Memory,
    carry_out=carry_out,
    expected_s=lambda _: 0.0,
    capabilities=(HasMemory, TellsRatings),
    needs_card=False,
    works=True,
    words=files(__name__),
    rule_from="van de Goor, Testing Semiconductor Memories (1991): fault classes and march tests",
)
