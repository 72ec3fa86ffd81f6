"""Columns of the store, made from the models of a record so that the two cannot part."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from enum import Enum, StrEnum
from typing import Any

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from burnin.core.clock import moment_of
from burnin.core.meaning import Meaning
from burnin.core.plain import plain
from burnin.core.reading import NotMeasured
from burnin.record.schema.field_types import Part, parts_of


class Kind(StrEnum):
    """What a column holds: `moment` is UTC without a zone, `plain` a list or an object as JSON."""

    TEXT = "text"
    WHOLE = "whole"
    NUMBER = "number"
    TRUTH = "truth"
    MOMENT = "moment"
    PLAIN = "plain"


@dataclass(frozen=True)
class Column:
    """A column: its unit stands in the name where the name ends in one, else in `unit`."""

    name: str
    kind: Kind
    what: str
    unit: str = ""


@dataclass(frozen=True)
class Leaf:
    """A column and the way to its value in a model; `part`: of a meaning its code or its data."""

    column: Column
    path: tuple[str, ...]
    part: str = ""


NOT_MEASURED = Column(
    "not_measured", Kind.PLAIN, "why a column of this row is empty, by the column's name"
)


def leaves_of(
    model: type[BaseModel],
    prefix: str = "",
    path: tuple[str, ...] = (),
    left_out: Iterable[tuple[str, ...]] = (),
) -> Iterator[Leaf]:
    """A column for each field of a model; an object inside it has one for each field of its own.

    A list or a table by name is one column of JSON. Paths in `left_out` have none.
    """
    for name, field in model.model_fields.items():
        here = (*path, name)
        if here in left_out:
            continue
        column = prefix + (field.alias or name)
        parts = parts_of(field)
        many = any(part.many for part in parts)
        told = [kind for kind in _kinds(parts) if not _is_not_measured(kind)]
        inside: Any = told[0] if len(told) == 1 else None
        if _is_model(inside) and not many:
            yield from leaves_of(inside, f"{column}_", here, left_out)
        elif _is_meaning(inside) and not many:
            yield Leaf(Column(column, Kind.TEXT, _what(field)), here, "code")
            data = Column(f"{column}_data", Kind.PLAIN, f"its data: {_what(field)}")
            yield Leaf(data, here, "data")
        else:
            kind = Kind.PLAIN if many else _kind(column, told)
            yield Leaf(Column(column, kind, _what(field), _unit(field)), here)


def row_of(content: object, leaves: Iterable[Leaf]) -> tuple[dict[str, object], dict[str, object]]:
    """The cells of a row, and what of it was not measured, with the reason, by column."""
    cells: dict[str, object] = {}
    untold: dict[str, object] = {}
    for leaf in leaves:
        value = _at(content, leaf.path)
        if isinstance(value, NotMeasured):
            untold[leaf.column.name] = plain(value)
            value = None
        cells[leaf.column.name] = _cell(value, leaf)
    return cells, untold


def as_json(value: object) -> str:
    """As a column of JSON holds it."""
    return json.dumps(plain(value), ensure_ascii=False)


def moment(text: str) -> datetime | None:
    """A moment as the store holds it: UTC, without a zone; None for what is none."""
    found = moment_of(text) if text else None
    return None if found is None else found.replace(tzinfo=None)


def _at(content: object, path: tuple[str, ...]) -> object:
    for name in path:
        if content is None:
            return None
        content = getattr(content, name)
    return content


def _cell(value: object, leaf: Leaf) -> object:
    if value is None:
        return None
    if isinstance(value, Meaning) and leaf.part == "code":
        return value.code
    if isinstance(value, Meaning) and leaf.part == "data":
        return as_json({k: v for k, v in value.as_plain().items() if k != "code"})
    kind = leaf.column.kind
    if kind is Kind.PLAIN:
        return as_json(value)
    if kind is Kind.MOMENT:
        return moment(str(value))
    if isinstance(value, Enum):
        return str(value.value)
    return float(value) if kind is Kind.NUMBER and isinstance(value, int) else value


def _kinds(parts: Iterable[Part]) -> list[Any]:
    """The types that may stand there; of values that are allowed their type."""
    found = (part.kind if isinstance(part.kind, type) else type(part.kind) for part in parts)
    return list(dict.fromkeys(kind for kind in found if kind is not type(None)))


def _is_model(part: Any) -> bool:
    return isinstance(part, type) and issubclass(part, BaseModel)


def _is_meaning(part: Any) -> bool:
    return isinstance(part, type) and issubclass(part, Meaning)


def _is_not_measured(part: Any) -> bool:
    return isinstance(part, type) and issubclass(part, NotMeasured)


def _kind(column: str, parts: list[Any]) -> Kind:
    """The type of a scalar; what may be several things is kept as JSON."""
    if len(parts) != 1 or not isinstance(parts[0], type):
        return Kind.PLAIN
    if issubclass(parts[0], bool):
        return Kind.TRUTH
    if issubclass(parts[0], int):
        return Kind.WHOLE
    if issubclass(parts[0], float):
        return Kind.NUMBER
    if issubclass(parts[0], str):
        return Kind.MOMENT if column.endswith("_utc") else Kind.TEXT
    return Kind.PLAIN


def _what(field: FieldInfo) -> str:
    return field.description or ""


def _unit(field: FieldInfo) -> str:
    extra = field.json_schema_extra
    return str(extra.get("unit", "")) if isinstance(extra, dict) else ""
