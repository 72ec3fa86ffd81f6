"""Whole runs while the bench itself goes wrong: disk, clock, processor time, memory."""

from __future__ import annotations

import os
import time
from pathlib import Path

from burnin.core.errors import BurninError
from burnin.record.reader import read_record
from tests.kernel.guest import disk
from tests.kernel.guest.run_there import as_told, run
from tests.kernel.guest.saying import OUT, STAND_STILL, outside, say, tell_kernel, text, until

GROUPS = Path("/sys/fs/cgroup")
HUNG_AFTER = Path("/proc/sys/kernel/hung_task_timeout_secs")
_MIB = 1 << 20


def carry_out() -> None:
    """One run after the other, each on a bench that is whole again."""
    results = disk.fresh()
    run("disk_damaged", only="display", stage="display", act=disk.error_found, results=results)
    say("kernel_of_disk", said=_lines("Remounting filesystem read-only"))
    disk.unmounted()
    results = disk.fresh()
    run("read_only", only="display", before=_read_only, results=results)
    disk.unmounted()
    _frozen(disk.fresh())
    disk.unmounted()
    _clock_stepped()
    _throttled()
    _killed_for_memory()
    run("stolen", only="display", stage="display", act=(OUT / STAND_STILL).touch)


def _read_only() -> None:
    outside("busybox", "mount", "-o", "remount,ro", str(disk.MOUNTED))


def _lines(words: str) -> list[str]:
    """Lines of the kernel's log with these words."""
    return [line for line in outside("dmesg").splitlines() if words in line]


def _fields(file: Path) -> dict[str, str]:
    """A file of names and numbers."""
    pairs = ((line.split()[0], line.split()[1]) for line in text(file).splitlines())
    return dict(pairs)


def _frozen(results: Path) -> None:
    tell_kernel(HUNG_AFTER, "2")
    tell_kernel("/proc/sys/kernel/hung_task_check_interval_secs", "1")
    run("disk_hangs", only="display", stage="display", act=_freeze_for_a_while, results=results)
    say(
        "kernel_of_hang",
        hung=[line for line in outside("dmesg").splitlines() if "blocked for" in line],
    )
    tell_kernel(HUNG_AFTER, "0")


def _freeze_for_a_while() -> None:
    if not os.fork():
        time.sleep(6.0)
        disk.freeze(False)
        os._exit(0)
    disk.freeze(True)


def _clock_stepped() -> None:
    before = (time.clock_gettime(time.CLOCK_MONOTONIC), time.time())
    run(
        "clock_stepped",
        only="display",
        stage="display",
        act=lambda: time.clock_settime(time.CLOCK_REALTIME, time.time() - 3600.0),
    )
    after = (time.clock_gettime(time.CLOCK_MONOTONIC), time.time())
    say("kernel_clocks", monotonic_s=after[0] - before[0], wall_s=after[1] - before[1])
    time.clock_settime(time.CLOCK_REALTIME, time.time() + 3600.0)


def _group(name: str, **limits: str) -> Path:
    tell_kernel(GROUPS / "cgroup.subtree_control", "+cpu +memory")
    group = GROUPS / name
    group.mkdir(exist_ok=True)
    for file, limit in limits.items():
        tell_kernel(group / file.replace("_", "."), limit)
    return group


def _throttled() -> None:
    group = _group("slow", cpu_max="30000 100000")
    own = GROUPS / "cgroup.procs"
    tell_kernel(group / "cgroup.procs", str(os.getpid()))
    run("throttled", only="display")
    tell_kernel(own, str(os.getpid()))
    say("kernel_of_limit", stat=_fields(group / "cpu.stat"))


def _killed_for_memory() -> None:
    group = _group("small", memory_max=str(48 * _MIB))
    results = Path("/run/small")
    run("out_of_memory", only="display", stage="display", act=lambda: _grow(group), results=results)
    until(lambda: "oom_kill 0" not in text(group / "memory.events"))
    say(
        "kernel_of_memory",
        events=_fields(group / "memory.events"),
    )
    (begun,) = results.glob("*/*/run.json")
    try:
        say("after_memory", **as_told(read_record(begun.parent)))
    except BurninError as error:
        say("after_memory", error=str(error))


def _grow(group: Path) -> None:
    """More than the group may have; whoever is in it is killed."""
    tell_kernel(group / "cgroup.procs", str(os.getpid()))
    held = []
    while True:
        held.append(b"\1" * _MIB)
