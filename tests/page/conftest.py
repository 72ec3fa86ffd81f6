"""The page in a process of its own, runs that it shows, and a browser."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright


@contextmanager
def begun(results: Path, *words: str) -> Iterator[subprocess.Popen[bytes]]:
    """A simulated run as the command does it, until it ends or one leaves."""
    with subprocess.Popen(
        [sys.executable, "-m", "burnin", "run", "--json", "--results", str(results), *words],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, stdin=subprocess.DEVNULL,
        env=os.environ | {"BURNIN_SHOP": str(results.with_name("shop"))},
    ) as process:  # fmt: skip
        try:
            yield process
        finally:
            if process.poll() is None:
                process.send_signal(signal.SIGKILL)


@pytest.fixture
def run_beside(
    tmp_path: Path,
) -> Callable[..., AbstractContextManager[subprocess.Popen[bytes]]]:
    """Begins a run whose record lies below `tmp_path / "results"`."""
    return lambda *words: begun(tmp_path / "results", *words)


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """The Chromium of this machine, one for a module."""
    path = _path_of("chromium")
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(
            executable_path=path,
            args=["--no-sandbox", "--disable-gpu", "--disable-background-networking"],
        )
        yield opened
        opened.close()


def _path_of(name: str) -> str:
    import shutil

    found = shutil.which(name)
    if found is None:
        message = f"{name} is not on this machine"
        if os.environ.get("BURNIN_ALL_TOOLS") == "1":
            pytest.fail(message)
        pytest.skip(message)
    return found
