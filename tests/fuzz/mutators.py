"""Changes of bytes and of nested values, drawn from a seeded generator."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random
from typing import Any

INTERESTING_BYTES = (0, 1, 9, 10, 13, 32, 34, 35, 39, 44, 45, 58, 61, 91, 92, 93, 123, 125, 127)
MORE_BYTES = (128, 192, 194, 237, 239, 254, 255)

WORDS: tuple[bytes, ...] = (
    b"\0",
    b"\r",
    b"\r\n",
    b"\n\n",
    b"\xef\xbb\xbf",
    b"\xff\xfe",
    b"\xed\xa0\x80",
    b'"',
    b'""',
    b'"""',
    b"'''",
    b"\\u0000",
    b"\\ud800",
    b"nan",
    b"inf",
    b"-inf",
    b"1e999",
    b"-1",
    b"0x",
    b"9" * 25,
    b"9" * 5000,
    b"[" * 3000,
    b'{"a":' * 2000,
    b"true",
    b"null",
    b"{}",
    b"[]",
    b"../" * 8,
    b"/dev/zero",
    b"9999-12-31T23:59:59-23:59",
    b"0001-01-01T00:00:00+23:59",
    b"%n%s",
    b"{0.__class__}",
)
"""What parsers stumble over."""

VALUES: tuple[Any, ...] = (
    None,
    True,
    False,
    0,
    -1,
    1,
    2**31,
    2**63,
    -(2**64),
    10**40,
    10**400,
    0.0,
    -0.0,
    1e-320,
    1e308,
    -1e308,
    float("nan"),
    float("inf"),
    float("-inf"),
    "",
    " ",
    "\0",
    "a\0b",
    "\r",
    "line\nbreak",
    "\ud800",
    "\u202eRTL",
    "é" * 300,
    "x" * 5000,
    "1" * 5000,
    "../../../etc/passwd",
    "/",
    ".",
    "nan",
    "-1",
    "1e999",
    "2026-02-30",
    "2026-03-10T09:15:00",
    "9999-12-31T23:59:59-23:59",
    "0001-01-01T00:00:00+23:59",
    "0001-01-01",
    "2026-03-10+",
    "{",
    "{0.__class__}",
    "A1",
    "B82",
    "Z999",
    [],
    {},
    [None],
    [[]],
    [{}],
    {"": ""},
    {"code": ""},
    {"code": "x"},
    {"code": "x", "reason": {"code": "y"}},
    {"not_measured": {"code": "x"}},
    [0.0, float("nan")],
    "a" * 70_000,
)
"""Values that nobody expects where they stand."""

_DEEP, _LARGE = 400, 10**300


def mutate_bytes(rng: Random, data: bytes, others: Sequence[bytes]) -> bytes:
    """One change: a flip, a cut, a repeat, a splice with another input, a word put in."""
    way = rng.randrange(10)
    at = rng.randrange(len(data) + 1)
    if way == 0 and data:
        at = rng.randrange(len(data))
        return data[:at] + bytes((data[at] ^ (1 << rng.randrange(8)),)) + data[at + 1 :]
    if way == 1 and data:
        at = rng.randrange(len(data))
        value = rng.choice((*INTERESTING_BYTES, *MORE_BYTES, rng.randrange(256)))
        return data[:at] + bytes((value,)) + data[at + 1 :]
    if way == 2:
        return data[:at]
    if way == 3:
        return data[:at] + data[at + rng.randrange(1, 40) :]
    if way == 4:
        part = data[at : at + rng.randrange(1, 80)]
        return data[:at] + part * rng.randrange(2, 9) + data[at:]
    if way == 5 and others:
        other = rng.choice(others)
        return data[:at] + other[rng.randrange(len(other) + 1) :]
    if way == 6:
        width = rng.choice((1, 2, 4, 8))
        return data[:at] + rng.randbytes(width) + data[at + width :]
    if way == 7:
        lines = data.split(b"\n")
        a, b = rng.randrange(len(lines)), rng.randrange(len(lines))
        lines[a], lines[b] = lines[b], lines[a]
        return b"\n".join(lines)
    if way == 8:
        lines = data.split(b"\n")
        del lines[rng.randrange(len(lines))]
        return b"\n".join(lines)
    return data[:at] + rng.choice(WORDS) + data[at + rng.choice((0, 0, 1, 4)) :]


def mutate_value(rng: Random, value: Any) -> Any:
    """One change somewhere in a nested value: replaced, taken out, doubled, moved, renamed."""
    places = list(_places(value, ()))
    path = rng.choice(places)
    return _changed(rng, value, path, places)


def _places(value: Any, path: tuple[Any, ...]) -> Any:
    yield path
    inner: Any = value.items() if isinstance(value, dict) else ()
    if isinstance(value, list):
        inner = enumerate(value)
    for key, part in inner:
        yield from _places(part, (*path, key))


def _at(value: Any, path: tuple[Any, ...]) -> Any:
    for key in path:
        value = value[key]
    return value


def _changed(rng: Random, value: Any, path: tuple[Any, ...], places: list[Any]) -> Any:
    if not path:
        if rng.random() < 0.97 and isinstance(value, dict | list):
            return _of_container(rng, value)
        return rng.choice(VALUES)
    key, *rest = path
    copy = dict(value) if isinstance(value, dict) else list(value)
    if rest:
        copy[key] = _changed(rng, value[key], tuple(rest), places)
        return copy
    way = rng.randrange(8)
    if way == 0:
        del copy[key]
    elif way == 1 and isinstance(copy, dict):
        copy[str(rng.choice(("", "unknown", "stage", "code", "\0", "x" * 300)))] = copy.pop(key)
    elif way == 2 and isinstance(copy, list):
        copy.extend([copy[key]] * rng.randrange(1, 40))
    elif way == 3:
        copy[key] = _near(rng, copy[key])
    elif way == 4:
        copy[key] = rng.choice(([copy[key]], {"code": copy[key]}, str(copy[key]), _nested(rng)))
    else:
        copy[key] = rng.choice(VALUES)
    return copy


def _of_container(rng: Random, value: Any) -> Any:
    if isinstance(value, list):
        return [*value, *value] if rng.random() < 0.5 else value[: rng.randrange(len(value) + 1)]
    if not value:
        return {"x": rng.choice(VALUES)}
    keys = list(value)
    chosen = rng.choice(keys)
    return {**value, chosen: rng.choice((value[rng.choice(keys)], rng.choice(VALUES)))}


def _near(rng: Random, value: Any) -> Any:
    """A value of the same kind, a little or a lot off."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, int | float):
        scaled = value * rng.choice((1e6, 1e-6)) if abs(value) < _LARGE else 0
        return rng.choice((-value, value + 1, value - 1, scaled, int(value == 0)))
    if isinstance(value, str):
        at = rng.randrange(len(value) + 1)
        return rng.choice((value[:at], value + value, value[:at] + "\0" + value[at:], value[::-1]))
    return value


def _nested(rng: Random) -> Any:
    deep: Any = []
    for _ in range(rng.choice((3, 40, _DEEP))):
        deep = [deep]
    return deep
