"""What several tests share."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING
from zlib import crc32

import pytest
from hypothesis import settings

# Nothing timed decides a test: a busy machine must not fail a property.
settings.register_profile("house", deadline=None)
settings.load_profile("house")

# Whatever language the bench speaks, tests ask for the one that they mean.
os.environ.update(LC_ALL="C.UTF-8", LANG="C.UTF-8")

DATA = Path(__file__).parent / "data"

# Records reach the disk row by row; where there is room, tests keep theirs in memory.
_IN_MEMORY, _ROOM_BYTES = Path("/dev/shm"), 4 << 30
if os.access(_IN_MEMORY, os.W_OK) and shutil.disk_usage(_IN_MEMORY).free > _ROOM_BYTES:
    os.environ.setdefault("PYTEST_DEBUG_TEMPROOT", str(_IN_MEMORY))

if TYPE_CHECKING:
    from tests.run.shared_runs import SharedRuns


_DRAWN = ("tests/others/", "tests/fuzz/test_commands.py", "tests/planted/")
"""Where long tests are cases in their hundreds, drawn by another hand."""
_ONE_IN = 3


_WHOLE = (
    *(f"tests/others/{name}/" for name in ("seen", "several", "by_hand", "together")),
    *(f"tests/others/{name}/" for name in ("word_holds", "whose_fault", "explained")),
    *(f"tests/page/test_{name}" for name in ("axe", "in_a_browser", "board_in", "photo", "round")),
    *(f"tests/diagnosis/test_{name}" for name in ("explaining", "shipped", "open_con")),
    *(f"tests/diagnosis/test_{name}" for name in ("posterior", "outputs", "evidence", "scores")),
    *(f"tests/engine/test_{name}" for name in ("worker_process", "together_on", "memory_on")),
    *("tests/report/test_pages", "tests/history/test_questions", "tests/history/test_commands"),
    *("tests/fuzz/test_commands", "tests/faults/test_load", "tests/faults/test_hung"),
    *("tests/run/test_sinks_of_a_run", "tests/run/test_own_ramp", "tests/cli/test_commands"),
    *("tests/replay/test_recordings_and", "tests/house/test_what_nobody"),
)
"""Whole runs, real browsers and processes: long by their place, all of them in each `.ci/run`."""


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Of long cases that come in hundreds `.ci/run` carries out one in three, always the same.

    The others are `many`: by hand before what they are about is said to hold (`pytest -m long`).
    What is long by its place alone is carried out whole.
    """
    for item in items:
        drawn = item.nodeid.startswith(_DRAWN) and hasattr(item, "callspec")
        if drawn and item.get_closest_marker("long") and crc32(item.nodeid.encode()) % _ONE_IN:
            item.add_marker(pytest.mark.many)
        if item.nodeid.startswith(_WHOLE) and not item.get_closest_marker("long"):
            item.add_marker(pytest.mark.long)


@pytest.fixture
def data() -> Path:
    """The folder of recorded and published data."""
    return DATA


@pytest.fixture(scope="session")
def shared_runs(tmp_path_factory: pytest.TempPathFactory) -> SharedRuns:
    """Simulated runs that are made once, whichever test process asks first."""
    from tests.run.shared_runs import SharedRuns

    base = tmp_path_factory.getbasetemp()
    beside_others = os.environ.get("PYTEST_XDIST_WORKER") is not None
    return SharedRuns((base.parent if beside_others else base) / "shared-runs")


@pytest.fixture(scope="session")
def require_tool() -> Callable[[str], str]:
    """Path of an outside tool or file; skips without it, fails where all must be there."""

    def find(name: str) -> str:
        found = shutil.which(name) or (name if Path(name).exists() else None)
        if found is None:
            message = f"{name} is not on this machine"
            if os.environ.get("BURNIN_ALL_TOOLS") == "1":
                pytest.fail(message)
            pytest.skip(message)
        return found

    return find
