"""Files of a format changed so that the format still holds, or bytewise."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import math
import tomllib
from collections.abc import Callable, Sequence
from random import Random
from typing import Any

from tests.fuzz.mutators import VALUES, mutate_bytes, mutate_value

Mutate = Callable[[Random, bytes, Sequence[bytes]], bytes]

_BYTEWISE_SHARE = 0.35


def structured(parse: Callable[[bytes], Any], write: Callable[[Any], bytes]) -> Mutate:
    """A mutator of a format: structure as long as it can be parsed, else bytes."""

    def mutate(rng: Random, data: bytes, others: Sequence[bytes]) -> bytes:
        if rng.random() < _BYTEWISE_SHARE:
            return mutate_bytes(rng, data, others)
        try:
            return write(mutate_value(rng, parse(data)))
        except (ValueError, RecursionError, TypeError, AttributeError):
            return mutate_bytes(rng, data, others)

    return mutate


def _json_bytes(value: Any) -> bytes:
    return json.dumps(value).encode()


def toml_bytes(value: Any) -> bytes:
    """A table as TOML, each value on one line."""
    if not isinstance(value, dict):
        return str(value).encode("utf-8", "replace")
    lines = [f"{_quoted(str(key))} = {_toml(part)}\n" for key, part in value.items()]
    return "".join(lines).encode("utf-8", "replace")


def _quoted(text: str) -> str:
    return json.dumps(text).replace("\x7f", "\\u007f")


def _toml(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float) and not math.isfinite(value):
        return str(value)
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_quoted(str(k))} = {_toml(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_toml, value)) + "]"
    return _quoted("" if value is None else str(value))


def _toml_value(data: bytes) -> Any:
    return tomllib.loads(data.decode())


def _rows(data: bytes) -> list[Any]:
    return [list(row) for row in csv.reader(io.StringIO(data.decode(), newline=""))]


def _csv_bytes(rows: Any) -> bytes:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    for row in rows if isinstance(rows, list) else [[rows]]:
        writer.writerow(row if isinstance(row, list) else [row])
    return out.getvalue().encode("utf-8", "replace")


in_json = structured(json.loads, _json_bytes)
in_toml = structured(_toml_value, toml_bytes)


def in_csv(rng: Random, data: bytes, others: Sequence[bytes]) -> bytes:
    """A cell, row or column of a CSV file changed, or its bytes."""
    if rng.random() < _BYTEWISE_SHARE:
        return mutate_bytes(rng, data, others)
    try:
        rows = _rows(data)
        row = rng.choice(rows)
        cell = rng.randrange(len(row))
        row[cell] = _cell(rng, row[cell])
        if rng.random() < 0.2:
            rows.insert(rng.randrange(len(rows) + 1), list(rng.choice(rows)))
        return _csv_bytes(rows)
    except (ValueError, IndexError, csv.Error):
        return mutate_bytes(rng, data, others)


def _cell(rng: Random, cell: str) -> str:
    """Another cell; one that holds JSON stays JSON mostly."""
    if cell.startswith(("{", "[")) and rng.random() < 0.8:
        try:
            return json.dumps(mutate_value(rng, json.loads(cell)))
        except (ValueError, RecursionError):
            pass
    drawn = rng.choice(VALUES)
    return drawn if isinstance(drawn, str) else json.dumps(drawn)


def sealed(events: Any) -> bytes:
    """A log of these events whose every line vouches for those before it.

    As `burnin.record.event_log` says: a line's check is over the line without it, and holds the
    check of the line before.
    """
    raw, check = b"", ""
    for event in events if isinstance(events, list) else []:
        told = event if isinstance(event, dict) else {"kind": str(event)}
        body = json.dumps({**told, "before": check}, ensure_ascii=False)
        check = hashlib.sha256(body.encode("utf-8", "replace")).hexdigest()[:16]
        raw += f'{body[:-1]}, "check": "{check}"}}\n'.encode("utf-8", "replace")
    return raw


in_sealed_log = structured(json.loads, _json_bytes)
"""For inputs that are a JSON list of events; the target seals them."""
