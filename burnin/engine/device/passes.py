"""Passes over the test area, and the orders of them that pattern families go through."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class PassKind(StrEnum):
    """One way over the test area."""

    WRITE = "write"
    CHECK = "check"
    CHECK_THEN_WRITE = "check then write"
    PAUSE = "pause"
    HAMMER = "hammer"


@dataclass(frozen=True)
class Pass:
    """One pass: `expect` and `write` are step numbers of the family, -1 where it does neither.

    `descending` goes from the last address to the first; `pause_s` seconds without any access;
    `rounds` of a hammer pass is how often each aggressor line is read.
    """

    kind: PassKind
    write: int = -1
    expect: int = -1
    descending: bool = False
    pause_s: float = 0.0
    rounds: int = 0


def write_and_check(steps: int) -> tuple[Pass, ...]:
    """Each step written, then checked."""
    passes: list[Pass] = []
    for step in range(steps):
        passes += [Pass(PassKind.WRITE, write=step), Pass(PassKind.CHECK, expect=step)]
    return tuple(passes)


def moving_inversions() -> tuple[Pass, ...]:
    """Each of 8 bytes walks: write it, invert upwards, invert back downwards, check."""
    passes: list[Pass] = []
    for base in range(0, 16, 2):
        passes += [
            Pass(PassKind.WRITE, write=base),
            Pass(PassKind.CHECK_THEN_WRITE, expect=base, write=base + 1),
            Pass(PassKind.CHECK_THEN_WRITE, expect=base + 1, write=base, descending=True),
            Pass(PassKind.CHECK, expect=base),
        ]
    return tuple(passes)


def march_c_minus() -> tuple[Pass, ...]:
    """{any(w0); up(r0,w1); up(r1,w0); down(r0,w1); down(r1,w0); any(r0)} for each background."""
    passes: list[Pass] = []
    for zero in range(0, 12, 2):
        one = zero + 1
        passes += [
            Pass(PassKind.WRITE, write=zero),
            Pass(PassKind.CHECK_THEN_WRITE, expect=zero, write=one),
            Pass(PassKind.CHECK_THEN_WRITE, expect=one, write=zero),
            Pass(PassKind.CHECK_THEN_WRITE, expect=zero, write=one, descending=True),
            Pass(PassKind.CHECK_THEN_WRITE, expect=one, write=zero, descending=True),
            Pass(PassKind.CHECK, expect=zero),
        ]
    return tuple(passes)


def with_between(steps: int, between: Pass) -> tuple[Pass, ...]:
    """Each step written, then `between`, then checked."""
    passes: list[Pass] = []
    for step in range(steps):
        passes += [Pass(PassKind.WRITE, write=step), between, Pass(PassKind.CHECK, expect=step)]
    return tuple(passes)
