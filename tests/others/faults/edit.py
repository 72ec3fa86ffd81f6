"""Damages a file in a named way: `edit.py FILE KIND [ARGUMENT…]`. Prints nothing."""

import json
import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any


def _cut(data: bytes, *args: str) -> bytes:
    """Keep the first so many bytes; negative: lose so many."""
    return data[: int(args[0])]


def _replace(data: bytes, *args: str) -> bytes:
    """Replace the first ARGUMENT by the second, with escapes as in Python."""
    old, new = (arg.encode().decode("unicode_escape").encode("latin-1") for arg in args)
    if old not in data:
        raise SystemExit(f"{args[0]} is not in the file")
    return data.replace(old, new, 1)


def _in_row(data: bytes, *args: str) -> bytes:
    """Put a text into a row (from 1, the header is 0) before its first comma."""
    lines = data.split(b"\n")
    first, comma, rest = lines[int(args[0])].partition(b",")
    put = args[1].encode().decode("unicode_escape").encode("latin-1")
    lines[int(args[0])] = first + put + comma + rest
    return b"\n".join(lines)


def _key(data: bytes, *args: str) -> bytes:
    """Set a key of a JSON file (dots between keys) to a JSON value."""
    read: Any = json.loads(data)
    place = read
    *way, last = args[0].split(".")
    for step in way:
        place = place[int(step)] if isinstance(place, list) else place[step]
    place[last] = json.loads(args[1])
    return json.dumps(read, indent=1).encode()


def _without(data: bytes, *args: str) -> bytes:
    """Take a line (from 0) out."""
    lines = data.split(b"\n")
    del lines[int(args[0])]
    return b"\n".join(lines)


def _twice(data: bytes, *args: str) -> bytes:
    """Say a JSON file's first key twice."""
    found = re.search(rb'"[a-z_]+": ("[^"]*"|\d+),', data)
    if found is None:
        raise SystemExit("no key")
    return data[: found.start()] + found.group(0) + b" " + data[found.start():]


KINDS: dict[str, Callable[..., bytes]] = {
    "cut": _cut, "replace": _replace, "in_row": _in_row, "key": _key, "without": _without,
    "twice": _twice}


def main() -> None:
    """Damage the file."""
    file, kind, *args = sys.argv[1:]
    path = Path(file)
    path.write_bytes(KINDS[kind](path.read_bytes(), *args))


if __name__ == "__main__":
    main()
