"""Browser and records for the tests of sheet and plots."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

from tests.report import records

WRITERS: dict[str, Callable[[Path], Path]] = {
    "passed": lambda folder: records.passed().write(folder),
    "failed": lambda folder: records.failed().write(folder),
    "aborted": lambda folder: records.aborted().write(folder),
    "conditional": lambda folder: records.conditional().write(folder),
    "power cut": records.power_cut,
}


@pytest.fixture(params=list(WRITERS))
def any_record(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """A record's folder, one of each way in which a run may end."""
    return WRITERS[request.param](tmp_path / "record")


@pytest.fixture
def browser(require_tool: Callable[[str], str]) -> Iterator[Browser]:
    """The Chromium of this machine."""
    path = require_tool("chromium")
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(
            executable_path=path,
            args=["--no-sandbox", "--disable-gpu", "--disable-background-networking"],
        )
        yield opened
        opened.close()
