"""What a sync brings to a store, and what it asks of any: the seam between files and databases."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol

import pyarrow as pa

from burnin.history.of_record import Cells

TAKEN, APART, SAME, GONE = "taken", "apart", "same", "gone"
"""States of a file: in the store; kept apart; another place holds the same record; a place that
holds nothing any more. The last stands only where no row is ever taken away."""
Where = tuple[str, str]
"""A place's name and its kind."""


@dataclass(frozen=True)
class Known:
    """What a store knows of a place."""

    stamp: str
    state: str
    key: str


@dataclass(frozen=True)
class Arrived:
    """A place that was looked at: its line of `sources`, and its rows where it is taken in.

    `thing` is what it is about: the run's key, or the ticket's number.
    """

    source: Cells
    thing: str
    rows: Mapping[str, pa.Table] = field(default_factory=dict)


@dataclass
class Coming:
    """What waits for its transaction, and what it takes the place of."""

    arrived: list[Arrived] = field(default_factory=list)
    old_runs: list[str] = field(default_factory=list)
    old_tickets: list[str] = field(default_factory=list)


class Keeper(Protocol):
    """A store while it is brought up to date."""

    @property
    def samples(self) -> Path | None:
        """Where samples lie; None where they stay with the record alone."""

    def known(self) -> Mapping[Where, Known]:
        """Every place that was looked at."""

    def keep(self, coming: Coming, still_there: frozenset[str]) -> None:
        """Put it into the store in one piece; samples of old runs go, but of those still there."""

    def close_off(self, *, all_seen: bool) -> None:
        """A sync came to its end; `all_seen`: nothing was left for another time."""
