"""The emulated bench, started once a kernel for all tests, whichever test process asks first."""

from __future__ import annotations

import dataclasses
import fcntl
import json
import os
from pathlib import Path

import pytest

from tests.kernel.kernels import Kernel, kernel
from tests.kernel.one_boot import Said, boot
from tests.kernel.packages import NEWER, STABLE, Lacking
from tests.kernel.test_set_up import HIDING

_BOTH = ("place", "set_up", "recorded", "enumeration", "errors_injected", "whole_runs", "screens")
STEPS = {STABLE: (*_BOTH, "sensors", "surroundings"), NEWER: _BOTH}
_STARTED = {"said", "said_by_stable", "said_in_hiding"}
_SAID = "said-in-all.json"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """All tests of this folder want the emulated bench, and minutes."""
    for item in items:
        wants = getattr(item, "fixturenames", ())
        if Path(__file__).parent in item.path.parents and _STARTED & set(wants):
            item.add_marker(pytest.mark.kernel)
            item.add_marker(pytest.mark.timeout(1200))


def kernel_or_skip(suite: str) -> Kernel:
    """A kernel to boot; skips with the reason, fails where every tool must be there."""
    try:
        return kernel(suite)
    except Lacking as lacking:
        if os.environ.get("BURNIN_ALL_TOOLS") == "1":
            pytest.fail(str(lacking))
        pytest.skip(str(lacking))


@pytest.fixture(scope="session", params=[STABLE, NEWER])
def said(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Said:
    """What was said in one start of the bench under this suite's kernel."""
    return _said(request.param, tmp_path_factory)


@pytest.fixture(scope="session")
def said_by_stable(tmp_path_factory: pytest.TempPathFactory) -> Said:
    """The same under the stable kernel alone, with the steps that one kernel is enough for."""
    return _said(STABLE, tmp_path_factory)


@pytest.fixture(scope="session")
def said_in_hiding(tmp_path_factory: pytest.TempPathFactory) -> Said:
    """A start whose kernel was told to hide something."""
    out = tmp_path_factory.mktemp("hiding")
    return boot(kernel_or_skip(STABLE), ("place", "set_up"), out, command_line=HIDING)


def _said(suite: str, factory: pytest.TempPathFactory) -> Said:
    base = factory.getbasetemp()
    shared = base.parent if os.environ.get("PYTEST_XDIST_WORKER") is not None else base
    out = shared / f"emulated-{suite}"
    with (shared / "emulated.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)  # one emulator at a time
        if not (out / _SAID).exists():
            told = boot(kernel_or_skip(suite), STEPS[suite], out)
            plain = {**dataclasses.asdict(told), "out": str(out)}
            (out / _SAID).write_text(json.dumps(plain))
    kept = json.loads((out / _SAID).read_text())
    return Said(**{**kept, "lines": tuple(kept["lines"]), "out": Path(kept["out"])})
