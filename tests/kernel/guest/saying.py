"""What the bench tells the tests: one JSON line a check; and the outside tools that it asks."""

from __future__ import annotations

import json
import os
import subprocess
import time
from collections.abc import Callable, Mapping
from pathlib import Path

OUT = Path("/out")
SAID = "said.jsonl"
STAND_STILL = "stand_still"
"""A file by which the emulator is asked to give this bench no processor for some seconds."""


def say(check: str, **told: object) -> None:
    """Put one check on the list; every value in it is told as it is, or as its text."""
    line = json.dumps({"check": check, **told}, default=_plain)
    with (OUT / SAID).open("a") as file:
        file.write(line + "\n")


def _plain(value: object) -> object:
    if isinstance(value, bytes):
        return value.hex()
    reason = getattr(value, "reason", None)
    if reason is not None:
        return {"not_measured": reason.code}
    if isinstance(value, set | frozenset | tuple):
        return list(value)
    if isinstance(value, Mapping):
        return dict(value)
    return str(value)


def outside(*command: str, given: bytes = b"") -> str:
    """What an outside tool answers, whatever its exit code."""
    libraries = os.environ.get("TOOL_LIBRARIES", "")
    done = subprocess.run(
        command,
        input=given,
        capture_output=True,
        env={**os.environ, "LD_LIBRARY_PATH": libraries},
        check=False,
    )
    return done.stdout.decode(errors="replace")


def module(name: str, *settings: str) -> bool:
    """Load a module of the running kernel; False where the kernel would not."""
    command = ["modprobe", "-d", os.environ["KERNEL_ROOT"], name, *settings]
    libraries = os.environ.get("TOOL_LIBRARIES", "")
    done = subprocess.run(command, env={**os.environ, "LD_LIBRARY_PATH": libraries}, check=False)
    return done.returncode == 0


def text(path: str | Path) -> str:
    """A file's text; the error's name where it cannot be read."""
    try:
        return Path(path).read_text(errors="replace").strip()
    except OSError as error:
        return type(error).__name__


def tell_kernel(path: str | Path, words: str | bytes) -> str:
    """Write into a file of the kernel; the error's text where it would not, else empty."""
    data = words.encode() if isinstance(words, str) else words
    try:
        handle = os.open(path, os.O_WRONLY)
        try:
            os.write(handle, data)
        finally:
            os.close(handle)
    except OSError as error:
        return str(error)
    return ""


def until(true: Callable[[], bool], longest_s: float = 5.0) -> bool:
    """Wait until something is so."""
    end = time.monotonic() + longest_s
    while time.monotonic() < end:
        if true():
            return True
        time.sleep(0.02)
    return true()
