"""A few of the many kills that ``python -m tests.history.kills`` makes."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable

import pytest

from tests.history.postgres import TOOL


@pytest.mark.faults
@pytest.mark.long
@pytest.mark.parametrize("engine", ["server", "folder"])
def test_nothing_is_lost_and_nothing_is_there_twice(
    engine: str, require_tool: Callable[[str], str]
) -> None:
    if engine == "server":
        require_tool(TOOL)
    command = [sys.executable, "-m", "tests.history.kills", engine, "3"]
    told = subprocess.run(command, check=True, capture_output=True, text=True)
    assert "all rows once" in told.stdout
