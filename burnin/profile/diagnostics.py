"""Faults of a TOML file told so that a person can mend them: file, line, field, value, allowed."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from burnin.core.errors import BadInput
from burnin.core.files.bounded import TEXT_BYTES, read_at_most
from burnin.core.meaning import Reason
from burnin.core.system import cannot_read
from burnin.profile.refusals import ProfileRefusal

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


def explain(error: ValidationError, file: str, text: str) -> Reason:
    """All faults that pydantic found, one a line."""
    told: list[Reason] = []
    faults = error.errors(include_url=False)
    for fault in faults:
        location = fault["loc"]
        if fault["type"] == "too_short" and any(
            other["loc"][: len(location)] == location and other is not fault for other in faults
        ):
            continue  # only its faulty members make the list too short
        line = line_of(text, location)
        path, what = field_path(location), _what(fault)
        if not path:
            told.append(ProfileRefusal.IN_WHOLE_FILE(file=file, what=what))
        elif line:
            told.append(ProfileRefusal.AT_LINE(file=file, line=line, field=path, what=what))
        else:
            told.append(ProfileRefusal.IN_FILE(file=file, field=path, what=what))
    return ProfileRefusal.FAULTS(faults=tuple(told))


def _what(fault: Mapping[str, object]) -> Reason:
    kind, given = str(fault["type"]), fault.get("input")
    if kind == "missing":
        return ProfileRefusal.MISSING()
    context = fault.get("ctx")
    known: Mapping[str, object] = context if isinstance(context, Mapping) else {}
    if kind == "union_tag_invalid":
        tag, there = str(known.get("tag", given)), str(known.get("expected_tags", ""))
        return ProfileRefusal.NO_KIND(text=tag, there=there)
    if kind == "extra_forbidden":
        return ProfileRefusal.NO_FIELD(text=repr(given))
    rule = _rule(kind, str(fault["msg"]), known)
    if isinstance(given, Mapping) and len(given) > 3:
        return rule
    return ProfileRefusal.GIVEN(text=repr(given), what=rule)


_BOUNDS = {
    "less_than_equal": ("le", ProfileRefusal.AT_MOST),
    "greater_than_equal": ("ge", ProfileRefusal.AT_LEAST),
    "less_than": ("lt", ProfileRefusal.BELOW),
    "greater_than": ("gt", ProfileRefusal.ABOVE),
}
_KINDS = {
    "float_type": ProfileRefusal.A_NUMBER,
    "int_type": ProfileRefusal.A_WHOLE_NUMBER,
    "string_type": ProfileRefusal.A_TEXT,
    "tuple_type": ProfileRefusal.A_LIST,
    "bool_type": ProfileRefusal.YES_OR_NO,
}


def _rule(kind: str, message: str, known: Mapping[str, object]) -> Reason:
    """What must be there instead; `known` is what pydantic says of the rule."""
    if kind in _BOUNDS:
        name, code = _BOUNDS[kind]
        limit = known.get(name)
        if isinstance(limit, int | float):
            return code(limit=limit)
    if kind in _KINDS:
        return _KINDS[kind]()
    if kind == "literal_error":
        there = re.split(r", | or ", str(known.get("expected", "")))  # as pydantic joins them
        return ProfileRefusal.ONE_OF(there=tuple(there))
    if kind == "value_error":
        return ProfileRefusal.RULE(words=message.removeprefix("Value error, "))
    return ProfileRefusal.MUST_BE(words=message.removeprefix("Input should be "))


def read_toml(file: Path) -> tuple[str, dict[str, object]]:
    """Text and content of a TOML file; raises BadInput."""
    try:
        text = read_at_most(file, TEXT_BYTES).decode("utf-8-sig")
    except OSError as error:
        raise BadInput(cannot_read(file, error)) from error
    except UnicodeDecodeError as error:
        raise BadInput(ProfileRefusal.NO_TEXT(file=str(file), byte=error.start)) from error
    try:
        return text, tomllib.loads(text)
    except RecursionError as error:
        raise BadInput(ProfileRefusal.TOO_DEEP(file=str(file))) from error
    except ValueError as error:
        raise BadInput(ProfileRefusal.NO_TOML(file=str(file), words=str(error))) from error
