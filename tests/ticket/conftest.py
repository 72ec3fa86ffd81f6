"""A shop of our own for each test."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture(autouse=True)
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty shop folder that the tool takes for the bench's own."""
    folder = tmp_path / "shop"
    folder.mkdir()
    monkeypatch.setenv("BURNIN_SHOP", str(folder))
    monkeypatch.setenv("BURNIN_TECHNICIAN", "J. Wren")
    return folder
