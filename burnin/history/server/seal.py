"""A line of `kept_sources` with all its rows, under one seal that nobody makes without the key.

HMAC-SHA-256 (RFC 2104) over the seal before it, the line and its rows as JSON. Who may write on the
server but has no key of the shop can change a row, and take one away; the seal tells.
"""

from __future__ import annotations

import hashlib
import hmac
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from burnin.history.columns import Column

_FOR_SEALS, _FOR_NAMES = b"seals of the history", b"name of the key"


@dataclass(frozen=True)
class SealKey:
    """The shop's key for seals, and a name for it that tells nothing of it."""

    key: bytes

    @classmethod
    def of(cls, history_key: bytes) -> SealKey:
        """Made of the key that lies with the shop file."""
        return cls(hmac.new(history_key, _FOR_SEALS, hashlib.sha256).digest())

    @property
    def name(self) -> str:
        """Which key it is."""
        return hmac.new(self.key, _FOR_NAMES, hashlib.sha256).hexdigest()[:16]

    def seal(
        self, before: str, source: Sequence[object], rows: Mapping[str, Iterable[Sequence[object]]]
    ) -> str:
        """The seal of a line and its rows; tables in any order, rows in theirs."""
        made = hmac.new(self.key, before.encode(), hashlib.sha256)
        made.update(_line(["sources", *source]))
        for name in sorted(rows):
            for row in rows[name]:
                made.update(_line([name, *row]))
        return made.hexdigest()


def cells_of(columns: Iterable[Column], row: Mapping[str, object]) -> tuple[object, ...]:
    """A row's cells in the order of its columns."""
    return tuple(row.get(column.name) for column in columns)


def _line(cells: list[object]) -> bytes:
    return json.dumps(cells, default=_plain, ensure_ascii=False).encode() + b"\n"


def _plain(value: object) -> str:
    if isinstance(value, datetime):
        return value.isoformat(timespec="microseconds")
    raise TypeError(f"no cell holds {type(value).__name__}")
