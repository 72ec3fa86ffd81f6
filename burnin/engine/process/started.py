"""From a job to its work on a device; what one kind of job needs is not loaded for another."""

from __future__ import annotations

import importlib

from burnin.engine.device.device import Device
from burnin.engine.device.preparing import nothing_queued
from burnin.engine.job import (
    AllAtOnce,
    ArithmeticLoad,
    Job,
    LinkTraffic,
    MemoryTest,
    RepeatedCompute,
)
from burnin.engine.work import Emit, LoadShare, Work

_LOADED: dict[type, str] = {
    ArithmeticLoad: "compute.arithmetic_load", MemoryTest: "memory.memory_work",
    LinkTraffic: "link_traffic", RepeatedCompute: "compute.compute_work",
    AllAtOnce: "together.together_work",
}  # fmt: skip
"""Loaded before the device is asked for anything: a stop need not wait for it."""
_ARRAYS = "numpy"
"""Every kind of work compares with it sooner or later; it takes a tenth of a second to load."""


def started(device: Device, job: Job, share: LoadShare, emit: Emit) -> Work:
    """The job's work on the device, memory taken, nothing queued yet."""
    with nothing_queued():
        importlib.import_module(f"burnin.engine.{_LOADED[type(job)]}")
        importlib.import_module(_ARRAYS)
    if isinstance(job, ArithmeticLoad):
        from burnin.engine.compute.arithmetic_load import ArithmeticWork

        return ArithmeticWork(device, job, share, emit)
    if isinstance(job, MemoryTest):
        from burnin.engine.memory.memory_work import MemoryWork

        return MemoryWork(device, job, emit)
    if isinstance(job, LinkTraffic):
        from burnin.engine.link_traffic import TrafficWork

        return TrafficWork(device, job, emit)
    if isinstance(job, AllAtOnce):
        from burnin.engine.together.together_work import TogetherWork

        return TogetherWork(device, job, share, emit)
    from burnin.engine.compute.compute_work import ComputeWork

    return ComputeWork(device, job, emit)
