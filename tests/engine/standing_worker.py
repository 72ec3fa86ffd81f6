"""A worker process whose load stands still while its kernels are made, until a file appears.

    python -m tests.engine.standing_worker FOLDER PARENT

`making` appears in the folder when it stands; it goes on when `go_on` is there.
"""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

from burnin.engine.device.preparing import nothing_queued
from burnin.engine.device.units import ArithmeticUnit
from burnin.engine.process.kernel_bounds import die_with_parent
from burnin.engine.process.worker import Worker
from burnin.engine.vulkan.adapters import choose, vulkan_adapters
from burnin.engine.vulkan.device import VulkanDevice


class StandingDevice(VulkanDevice):
    """The software adapter; a driver that takes long over one kernel."""

    folder: Path

    def arithmetic(self) -> ArithmeticUnit:
        with nothing_queued():
            (self.folder / "making").touch()
            while not (self.folder / "go_on").exists():
                time.sleep(0.01)
        return super().arithmetic()


def main() -> None:
    folder, parent = Path(sys.argv[1]), int(sys.argv[2])
    die_with_parent(parent)
    tell_fd, _ = os.dup(1), os.dup2(2, 1)
    StandingDevice.folder = folder
    Worker(0, tell_fd).run(
        lambda: StandingDevice(choose(vulkan_adapters(), 0, 0, software=True))
    )


if __name__ == "__main__":
    main()
