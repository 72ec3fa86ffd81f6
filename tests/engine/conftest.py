"""A software Vulkan device, and jobs driven on it without a worker process."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from burnin.core.errors import EngineUnavailable
from burnin.engine.device.device import Device
from burnin.engine.job import Job, WorkEvent
from burnin.engine.process.started import started
from burnin.engine.vulkan.adapters import choose, vulkan_adapters
from burnin.engine.vulkan.device import VulkanDevice
from burnin.engine.work import LoadShare

RunJob = Callable[[Job], tuple[Any, list[WorkEvent]]]


@pytest.fixture(scope="session")
def software_vulkan() -> None:
    """Skips without a software adapter; fails where all outside parts must be there."""
    try:
        choose(vulkan_adapters(), 0, 0, software=True)
    except EngineUnavailable as error:
        if os.environ.get("BURNIN_ALL_TOOLS") == "1":
            pytest.fail(str(error))
        pytest.skip(str(error))


@pytest.fixture(scope="session")
def device(software_vulkan: None) -> Iterator[Device]:
    opened = VulkanDevice(choose(vulkan_adapters(), 0, 0, software=True))
    yield opened
    opened.close()


@pytest.fixture
def run_job(device: Device) -> RunJob:
    """Carries a job out to its end; gives its result and the events before."""

    def run(job: Job) -> tuple[Any, list[WorkEvent]]:
        events: list[WorkEvent] = []
        work = started(device, job, LoadShare(1.0), events.append)
        try:
            for rest_s in work.slices():
                time.sleep(rest_s)
            return work.result(), events
        finally:
            work.release()

    return run
