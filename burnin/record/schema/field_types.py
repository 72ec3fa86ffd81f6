"""Which types a field of a record's models may hold: the one walk through what is written there."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic.fields import FieldInfo

from burnin.record.schema.json_types import KeptAs


@dataclass(frozen=True)
class Part:
    """A type, or one of the values that are allowed (`kind`); `many`: in a list, or by name."""

    kind: Any
    many: bool = False


def parts_of(field: FieldInfo) -> list[Part]:
    """What a field may hold; a dataclass of the core is the model that it is kept as."""
    kept = next((m for m in field.metadata if isinstance(m, KeptAs)), None)
    return [Part(kept.model)] if kept is not None else list(_inside(field.annotation, many=False))


def _inside(kind: Any, *, many: bool) -> Iterator[Part]:
    origin, given = get_origin(kind), get_args(kind)
    if origin is Annotated:
        kept = next((m for m in given[1:] if isinstance(m, KeptAs)), None)
        yield from (Part(kept.model, many),) if kept else _inside(given[0], many=many)
    elif origin in (Union, UnionType):
        for one in given:
            yield from _inside(one, many=many)
    elif origin is tuple:
        yield from _inside(given[0], many=True)
    elif origin is Literal:
        yield from (Part(value, many) for value in given)
    elif origin is not None:  # a mapping
        yield from _inside(given[1], many=True)
    else:
        yield Part(kind, many)
