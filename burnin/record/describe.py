"""What a record holds, as JSON Schema (2020-12) and as the tables of results/README.md.

Both are made from the models. ``python -m burnin.record.describe results/README.md`` writes the
tables anew between their marks; without a file it prints the schema.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator, Mapping
from enum import Enum
from pathlib import Path
from typing import Any, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic.json_schema import models_json_schema

from burnin.core.meaning import Meaning
from burnin.core.reading import NotMeasured
from burnin.record.schema.field_types import parts_of
from burnin.record.schema.run import FORMAT, RunFile
from burnin.record.schema.tables import TABLES
from burnin.record.sums import RUN_FILE

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def record_schema() -> str:
    """JSON Schema of run.json and of a line of each table, by file name.

    A line of a table is an object of its cells that are not empty, numbers as numbers, yes and no
    as true and false.
    """
    models: list[type[BaseModel]] = [RunFile, *TABLES.values()]
    refs, shared = models_json_schema([(model, "validation") for model in models], by_alias=True)
    files: dict[str, object] = {RUN_FILE: refs[RunFile, "validation"]}
    for name, row in TABLES.items():
        files[name] = {"type": "array", "items": refs[row, "validation"]}
    schema = {
        "$schema": DIALECT,
        "title": f"burnin record, format {FORMAT}",
        "type": "object",
        "required": [RUN_FILE],
        "properties": files,
        **shared,
    }
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


def tables_in(text: str) -> str:
    """The text with each table between its marks made anew; raises ValueError without marks."""
    for name, lines in _made():
        begin, end = f"<!-- {name}: made from the models -->\n", f"<!-- end of {name} -->"
        before, found, rest = text.partition(begin)
        _, closed, after = rest.partition(end)
        if not found or not closed:
            raise ValueError(f"no marks for {name}")
        text = before + begin + "".join(f"{line}\n" for line in lines) + end + after
    return text


def _made() -> Iterator[tuple[str, list[str]]]:
    yield RUN_FILE, ["| key | holds | what |", "| --- | --- | --- |", *_keys(RunFile, "")]
    for name, row in TABLES.items():
        columns = ["| column | unit | holds | what |", "| --- | --- | --- | --- |"]
        for field_name, field in row.model_fields.items():
            extra = field.json_schema_extra
            unit = str(extra.get("unit", "–")) if isinstance(extra, dict) else "–"
            known = extra.get("known") if isinstance(extra, dict) else None
            holds = ", ".join(map(str, known)) if isinstance(known, list) else _cell(field)
            column = field.alias or field_name
            columns.append(f"| `{column}` | {unit} | {holds} | {_what(field)} |")
        yield name, columns


def _keys(model: type[BaseModel], inside: str) -> Iterator[str]:
    for name, field in model.model_fields.items():
        yield f"| `{inside}{name}` | {_holds(field)} | {_what(field)} |"
        for part in (part.kind for part in parts_of(field)):
            if isinstance(part, type) and issubclass(part, BaseModel):
                many = "[]" if _is_list(field) else ""
                yield from _keys(part, f"{inside}{name}{many}.")


def _what(field: FieldInfo) -> str:
    return (field.description or "").replace("|", "\\|")


def _holds(field: FieldInfo) -> str:
    """What may stand there, in words."""
    told: dict[str, None] = {}
    for part in parts_of(field):
        told.update(dict.fromkeys(_words(part.kind)))
    return _SEVERAL.get(get_origin(field.annotation), "") + ", ".join(word for word in told if word)


def _cell(field: FieldInfo) -> str:
    """What may stand in a cell, in words."""
    return _holds(field).replace("null", "empty").replace("true or false", "yes or no")


_SEVERAL: dict[Any, str] = {tuple: "list: ", Mapping: "by name: ", dict: "by name: "}
_PLAIN = {
    str: "text",
    int: "whole number",
    float: "number",
    bool: "true or false",
    object: "anything",
    type(None): "null",
}


def _words(part: Any) -> Iterator[str]:
    if not isinstance(part, type):
        yield str(part)
    elif part in _PLAIN:
        yield _PLAIN[part]
    elif issubclass(part, Enum):
        yield from (str(member.value) or "empty" for member in part)
    elif issubclass(part, BaseModel):
        yield "object"
    elif issubclass(part, NotMeasured):
        yield "not measured"
    elif issubclass(part, Meaning):
        yield part.__name__.lower()


def _is_list(field: FieldInfo) -> bool:
    return get_origin(field.annotation) is tuple


if __name__ == "__main__":
    if len(sys.argv) > 1:
        readme = Path(sys.argv[1])
        readme.write_text(tables_in(readme.read_text(encoding="utf-8")), encoding="utf-8")
    else:
        sys.stdout.write(record_schema())
