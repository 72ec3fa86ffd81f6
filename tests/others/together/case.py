"""What a case says: profile, machine, hands, and what is demanded of the record."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from pydantic import BaseModel, ConfigDict

HEAD = 'format = 1\ntitle = "Case"\n'
GUARDS = "[guards]\ngpu_temp_limit_c = 95.0\n"
CARD = 'name = "bench"\ntitle = "Bench"\n'
BENCH = "[bench]\nbench_proven = true\n"
BUILD = """[card]
cooling = "air"
power_plugs = ["12v2x6"]
regains_width = true
"""
OUTPUTS = "".join(
    f'[[card.outputs]]\nname = "{name}"\nmonitor = "Fenwick 27"\n' for name in ("DP-1", "DP-2")
)


class Says(BaseModel):
    """One answer: what is typed, when, and whether the hands did what was asked."""

    model_config = ConfigDict(extra="forbid")

    says: str | None = None
    after_s: float = 6.0
    moves: bool = True


class Case(BaseModel):
    """One case of a list; `open` tells what today's behaviour breaks, empty: it holds."""

    model_config = ConfigDict(extra="forbid")

    id: str
    kind: str
    what: str
    why: str
    expect: str
    gave: str
    open: str = ""
    stages: str
    guards: str = GUARDS
    points: str = ""
    bench: str = BENCH
    card: str = BUILD
    outputs: str = OUTPUTS
    causes: str = ""
    answers: list[Says] = []
    left_out: list[str] = []
    cut_at: str = ""
    stop_at: str = ""
    after_s: float = 0.0
    again: list[Says] | None = None
    mended: bool = False
    refused: str = ""
    run_in: list[str] = []
    stage_in: dict[str, list[str]] = {}
    readings: dict[str, list[str]] = {}
    codes: dict[str, str] = {}
    none_of: list[str] = []
    sane: bool = False
    told: list[str] = []


def cases(file: Path) -> list[Case]:
    """The cases of a list."""
    read = tomllib.loads(file.read_text("utf-8"))
    shared = read.get("shared", {})
    found = []
    for entry in read["case"]:
        given = {k: _filled(v, shared) if isinstance(v, str) else v for k, v in entry.items()}
        found.append(Case.model_validate(given))
    return found


def _filled(text: str, shared: dict[str, str]) -> str:
    for name, value in shared.items():
        text = text.replace(f"<{name}>", value)
    return text


def params(file: Path) -> list[Any]:
    """Each case for a test; those whose demand is broken today are to fail."""
    found: list[Any] = []
    for case in cases(file):
        marks = [pytest.mark.xfail(strict=True, reason=case.open)] if case.open else []
        found.append(pytest.param(case, id=case.id, marks=marks))
    return found
