"""Cases of which a person's run takes a few and the long run takes all."""

from __future__ import annotations

from collections.abc import Collection, Iterable

import pytest


def few_short(rows: Iterable[object], short: Collection[object]) -> list[object]:
    """Parameters of a test, those that are not `short` (by their first value) marked as long."""
    return [_param(row, short) for row in rows]


def _param(row: object, short: Collection[object]) -> object:
    values = row if isinstance(row, tuple) else (row,)
    return pytest.param(*values, marks=() if values[0] in short else (pytest.mark.long,))
