"""Every reader under a few hundred hostile inputs; the long form goes on until nothing is new."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.fuzz.loop import Summary, fuzz
from tests.fuzz.targets import NAMES, target

SHORT_S = {"record": 1.5, "ticket_story": 1.5, "sysfs_tree": 0.8, "recording": 0.8}
"""Processor seconds that a target takes at most here; of all others, 0.4."""
SLOW = ("record_replay", "record_explain", "record_sheet", "record_resume", "ticket_sheets")
QUICK = ("edid", "config_space", "csv_rows", "profile", "ticket_log", "recording", "record")


def _param(name: str) -> object:
    marks = [] if name in QUICK else [pytest.mark.long]
    return pytest.param(name, marks=[*marks, pytest.mark.many] if name in SLOW else marks)


@pytest.mark.parametrize("name", [_param(name) for name in NAMES])
def test_hostile_input_ends_in_an_error_of_ours(name: str, tmp_path: Path) -> None:
    most_s = SHORT_S.get(name, 20.0 if name in SLOW else 0.4)
    found = fuzz(target(name), tmp_path, inputs=3000, seed=20260302, most_s=most_s)
    assert not found.uncaught, told(found)
    assert found.inputs >= 10
    assert found.arcs > 10


def told(found: Summary) -> str:
    """What was not caught, a line each."""
    return "\n".join(f"{one.where}: {one.what!a}" for one in found.uncaught.values())
