"""A worker process whose load stands still while its kernels are made, until a file appears.

    python -m tests.engine.standing_worker FOLDER PARENT [between]

`making` appears in the folder when it stands; it goes on when `go_on` is there. `between`: it
stands where it has not said that nothing is on the card, and what it took until then takes until
`give_back` is there to be given back; then `given_back` appears.
"""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

from burnin.engine.device.preparing import Preparing, nothing_queued
from burnin.engine.device.units import ArithmeticUnit
from burnin.engine.process.kernel_bounds import die_with_parent
from burnin.engine.process.worker import Worker
from burnin.engine.vulkan.adapters import choose, vulkan_adapters
from burnin.engine.vulkan.device import VulkanDevice


class StandingDevice(VulkanDevice):
    """The software adapter; a driver that takes long over one kernel."""

    folder: Path
    between = False

    def arithmetic(self) -> ArithmeticUnit:
        if self.between:
            return self._between()
        with nothing_queued():
            (self.folder / "making").touch()
            while not (self.folder / "go_on").exists():
                time.sleep(0.01)
        return super().arithmetic()

    def _between(self) -> ArithmeticUnit:
        Preparing.on_idle(False)
        taken = Taken(self.folder)
        (self.folder / "making").touch()
        while not (self.folder / "go_on").exists():
            time.sleep(0.01)
        unit = super().arithmetic()
        del taken
        return unit


class Taken:
    """Memory that a driver takes long to have back."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def __del__(self) -> None:
        until_s = time.monotonic() + 60.0
        while not (self._folder / "give_back").exists() and time.monotonic() < until_s:
            time.sleep(0.01)
        (self._folder / "given_back").touch()


def main() -> None:
    folder, parent = Path(sys.argv[1]), int(sys.argv[2])
    die_with_parent(parent)
    tell_fd, _ = os.dup(1), os.dup2(2, 1)
    StandingDevice.folder, StandingDevice.between = folder, "between" in sys.argv[3:]
    Worker(0, tell_fd).run(
        lambda: StandingDevice(choose(vulkan_adapters(), 0, 0, software=True))
    )


if __name__ == "__main__":
    main()
