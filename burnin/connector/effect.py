"""What a damaged contact does to the card, and which stage shows it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

State = Literal["open", "resistive", "shorted"]
STATES: tuple[State, ...] = ("open", "resistive", "shorted")
"""Open: no contact at all. Resistive: some ohms too many. Shorted: to ground or a neighbour."""


@dataclass(frozen=True)
class Effect:
    """One state's effect: `brief` for a table, `text` in full.

    `stages` are keys of the stage catalogue that show it; `gap` says what no stage shows and what
    to record instead. At least one of both is given. `width_lanes` is the trained width of an x16
    card in an x16 slot that does not reverse lanes: 0 no link, None where the state leaves it.
    """

    state: State
    brief: str
    text: str
    stages: tuple[str, ...] = ()
    gap: str = ""
    width_lanes: int | None = None

    def shown(self) -> str:
        """Which stage shows it, in words."""
        if not self.stages:
            return f"no stage: {self.gap}"
        stages = f"stage {', '.join(self.stages)}"
        return f"{stages}; {self.gap}" if self.gap else stages
