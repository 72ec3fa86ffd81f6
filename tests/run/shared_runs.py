"""Runs of the simulated machine that are made once and looked at by many tests."""

from __future__ import annotations

import fcntl
import pickle
from pathlib import Path
from typing import cast

from tests.run.driving import Ran, run_simulated


class SharedRuns:
    """Runs by scenario, profile and seed; test processes beside one another share them."""

    def __init__(self, folder: Path) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self._folder = folder

    def run(self, scenario: str, profile: str, seed: int = 1) -> Ran:
        """The run, made by whoever asks first; its record may be read and must not be changed."""
        results = self._folder / f"{scenario}-{profile}-{seed}"
        kept = results.with_suffix(".pickle")
        with results.with_suffix(".lock").open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            if not kept.exists():
                ran = run_simulated(scenario, profile, results, seed=seed)
                kept.write_bytes(pickle.dumps(ran))
        return cast(Ran, pickle.loads(kept.read_bytes()))
