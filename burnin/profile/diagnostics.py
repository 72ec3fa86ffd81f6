"""Faults of a TOML file told so that a person can mend them: file, line, field, value, allowed."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from burnin.core.files.bounded import TEXT_BYTES, read_at_most

if TYPE_CHECKING:
    from pydantic import ValidationError


def field_path(location: Sequence[int | str]) -> str:
    """``("stages", 2, "memory", "share")`` as ``stages[2].share``.

    A tagged union puts its tag into the location; a name that follows an index is that tag where
    another name follows it.
    """
    parts: list[str] = []
    for position, part in enumerate(location):
        if isinstance(part, int):
            parts.append(f"[{part}]")
            continue
        is_tag = position > 0 and isinstance(location[position - 1], int)
        if is_tag and position + 1 < len(location):
            continue
        parts.append(f".{part}" if parts else part)
    return "".join(parts)


def line_of(text: str, location: Sequence[int | str]) -> int | None:
    """Line (from 1) where the innermost named key of the location stands, None if not found.

    TOML readers give no positions, so the n-th ``[[table]]`` of the outermost list is searched
    for the innermost key that it holds.
    """
    lines = text.splitlines()
    start, end = 0, len(lines)
    names = [part for part in location if isinstance(part, str)]
    if len(location) > 1 and isinstance(location[1], int):
        header = re.compile(rf"^\s*\[\[\s*{re.escape(str(location[0]))}\s*\]\]")
        heads = [number for number, line in enumerate(lines) if header.match(line)]
        if location[1] < len(heads):
            start = heads[location[1]]
            own = re.compile(rf"^\s*\[\s*{re.escape(str(location[0]))}\s*\.")
            later = (n for n in range(start + 1, len(lines)) if lines[n].lstrip().startswith("["))
            end = next((n for n in later if not own.match(lines[n])), end)
    elif len(names) > 1:
        header = re.compile(rf"^\s*\[\s*{re.escape(names[0])}\s*\]")
        start = next((n for n, line in enumerate(lines) if header.match(line)), 0)
    for name in reversed(names):
        key = re.compile(rf"^\s*[\"']?{re.escape(name)}[\"']?\s*=|[{{,]\s*{re.escape(name)}\s*=")
        for number in range(start, end):
            if key.search(lines[number]):
                return number + 1
    return start + 1 if start else None


def explain(error: ValidationError, file: str, text: str) -> str:
    """All faults that pydantic found, one a line."""
    told = []
    faults = error.errors(include_url=False)
    for fault in faults:
        location = fault["loc"]
        if fault["type"] == "too_short" and any(
            other["loc"][: len(location)] == location and other is not fault for other in faults
        ):
            continue  # only its faulty members make the list too short
        line = line_of(text, location)
        where = f"{file}, line {line}" if line else file
        path = field_path(location) or "(whole file)"
        told.append(f"{where}: {path}: {_what(fault)}")
    return "\n".join(told)


def _what(fault: Mapping[str, object]) -> str:
    kind, message = str(fault["type"]), str(fault["msg"])
    given = fault.get("input")
    if kind == "missing":
        return "is missing"
    if kind == "union_tag_invalid":
        context = fault.get("ctx")
        tags = context.get("expected_tags") if isinstance(context, Mapping) else ""
        tag = context.get("tag") if isinstance(context, Mapping) else given
        return f"value given: {tag!r}; must be one of {tags}"
    if kind == "extra_forbidden":
        return f"no such field (value given: {given!r}); see the JSON Schema for what is allowed"
    message = message.removeprefix("Value error, ").removeprefix("Input should be ")
    if isinstance(given, Mapping) and len(given) > 3:
        return f"must be {message}" if kind != "value_error" else message
    allowed = message if kind == "value_error" else f"must be {message}"
    return f"value given: {given!r}; {allowed}"


def read_toml(file: Path) -> tuple[str, dict[str, object]]:
    """Text and content of a TOML file; raises ValueError in plain words."""
    try:
        text = read_at_most(file, TEXT_BYTES).decode("utf-8-sig")
    except OSError as error:
        raise ValueError(f"{file}: cannot be read: {error.strerror or error}") from error
    except UnicodeDecodeError as error:
        raise ValueError(f"{file}: is not UTF-8 text (byte {error.start})") from error
    try:
        return text, tomllib.loads(text)
    except RecursionError as error:
        raise ValueError(f"{file}: is not valid TOML: too deeply nested") from error
    except ValueError as error:
        raise ValueError(f"{file}: is not valid TOML: {error}") from error
