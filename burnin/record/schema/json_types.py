"""How the core's types stand in JSON, for pydantic: meanings, what was not measured, dataclasses.

A meaning is ``{"code": …, name: value, …}``; what was not measured is ``{"not_measured": meaning}``
in the value's place. A dataclass of the core is kept as a model that describes each of its keys.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from typing import Annotated, Any

from pydantic import BaseModel, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, core_schema

from burnin.core.meaning import Meaning, Note, Owed, Reason, Source
from burnin.core.plain import plain
from burnin.core.reading import NotMeasured

MEANING_SCHEMA: JsonSchemaValue = {
    "type": "object",
    "required": ["code"],
    "properties": {"code": {"type": "string", "minLength": 1}},
    "additionalProperties": True,
}
"""A meaning in JSON Schema; its data may hold further meanings."""


@dataclass(frozen=True)
class _MeaningInJson:
    kind: type[Meaning]

    def __get_pydantic_core_schema__(
        self, source: object, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(
            self._read, serialization=core_schema.plain_serializer_function_ser_schema(plain)
        )

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        return {"title": self.kind.__name__, **MEANING_SCHEMA}

    def _read(self, value: object) -> Meaning:
        if isinstance(value, self.kind):
            return value
        if not isinstance(value, Mapping):
            raise ValueError("a meaning is an object with a code")
        return self.kind.from_plain(value)


@dataclass(frozen=True)
class _NotMeasuredInJson:
    def __get_pydantic_core_schema__(
        self, source: object, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(
            self._read, serialization=core_schema.plain_serializer_function_ser_schema(plain)
        )

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        return {
            "type": "object",
            "required": ["not_measured"],
            "properties": {"not_measured": MEANING_SCHEMA},
        }

    def _read(self, value: object) -> NotMeasured:
        if isinstance(value, NotMeasured):
            return value
        if not isinstance(value, Mapping) or not isinstance(value.get("not_measured"), Mapping):
            raise ValueError('what was not measured is {"not_measured": {"code": …}}')
        return NotMeasured(Reason.from_plain(value["not_measured"]))


@dataclass(frozen=True)
class KeptAs:
    """A dataclass of the core, kept in a file under the keys that `model` describes."""

    model: type[BaseModel]
    build: Callable[..., object]

    def __get_pydantic_core_schema__(
        self, source: object, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return core_schema.no_info_after_validator_function(
            self._built,
            handler.generate_schema(self.model),
            serialization=core_schema.plain_serializer_function_ser_schema(plain),
        )

    def _built(self, kept: Any) -> object:
        names = (f.name for f in fields(self.build))  # type: ignore[arg-type]
        return self.build(**{name: getattr(kept, name) for name in names})


ReasonInJson = Annotated[Reason, _MeaningInJson(Reason)]
NoteInJson = Annotated[Note, _MeaningInJson(Note)]
OwedInJson = Annotated[Owed, _MeaningInJson(Owed)]
SourceInJson = Annotated[Source, _MeaningInJson(Source)]
NotMeasuredInJson = Annotated[NotMeasured, _NotMeasuredInJson()]
