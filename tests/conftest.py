"""What several tests share."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import settings

# Nothing timed decides a test: a busy machine must not fail a property.
settings.register_profile("house", deadline=None)
settings.load_profile("house")

DATA = Path(__file__).parent / "data"


@pytest.fixture
def data() -> Path:
    """The folder of recorded and published data."""
    return DATA


@pytest.fixture
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
