"""A meaning in two cells of a table: its code, and its data as JSON."""

from __future__ import annotations

import json
from typing import TypeVar

from burnin.core.meaning import Meaning

M = TypeVar("M", bound=Meaning)


def meaning_cells(column: str, meaning: Meaning | None) -> dict[str, object]:
    """Cells of `column` and ``column_data``; none where there is no meaning."""
    if meaning is None:
        return {}
    data = meaning.as_plain()
    code = data.pop("code")
    return {column: code, f"{column}_data": json.dumps(data, ensure_ascii=False) if data else ""}


def meaning_of(kind: type[M], code: str, data: str) -> M | None:
    """The meaning of two cells, None where the code is empty; raises ValueError."""
    if not code:
        if data:
            raise ValueError("data without a code")
        return None
    content = json.loads(data) if data else {}
    if not isinstance(content, dict):
        raise ValueError(f"the data of {code} is no JSON object")
    return kind.from_plain({"code": code, **content})
