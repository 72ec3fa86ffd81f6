"""What says that a load is over: the card's driver, or, on software, the processes themselves."""

from __future__ import annotations

import contextlib
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Protocol

import psutil

IDLE_PCT = 5
IDLE_SHARE = 0.35
"""A card that draws less than this share of what the load added has no work."""
_POWER_INSTANT = 186
"""NVML_FI_DEV_POWER_INSTANT (nvml.h; from memory)."""
MEMORY_SLACK_BYTES = 64 * 2**20
_EVERY_S = 0.02


@dataclass(frozen=True)
class Resting:
    """The card before a run: its compute processes and the memory in use."""

    pids: frozenset[int]
    memory_bytes: int


@dataclass(frozen=True)
class LoadOver:
    """Seconds after the fault until each was seen to be so; None: not within the time allowed.

    A driver's utilisation is a mean over its own period, up to a second; that of power too.
    """

    process_off_card_s: float | None
    idle_s: float | None
    memory_free_s: float | None
    worker_gone_s: float | None


class Seen(Protocol):
    """Looks at a card from outside the tool."""

    def resting(self) -> Resting:
        """What is there without a load."""
        ...

    def works(self, worker_pid: int) -> bool:
        """Whether the load is seen."""
        ...

    def off_card(self, worker_pid: int, before: Resting) -> bool:
        """Whether no process but those before uses the card."""
        ...

    def idle(self, worker_pid: int) -> bool:
        """Whether the card does nothing now."""
        ...

    def memory_free(self, worker_pid: int, before: Resting) -> bool:
        """Whether the load's memory was given back."""
        ...


class SeenByDriver:
    """Through NVML, by its index or bus address."""

    def __init__(self, address: str = "") -> None:
        import pynvml

        self._nvml: Any = pynvml
        pynvml.nvmlInit()
        self._card = (
            pynvml.nvmlDeviceGetHandleByPciBusId(address.encode())
            if address
            else pynvml.nvmlDeviceGetHandleByIndex(0)
        )
        self._rest_w = self._power_w()
        self._load_w: float | None = None

    def _power_w(self) -> float | None:
        """What the card draws now, else its mean over a second; None where it tells neither."""
        with contextlib.suppress(Exception):
            (told,) = self._nvml.nvmlDeviceGetFieldValues(self._card, [_POWER_INSTANT])
            if told.nvmlReturn == 0 and told.value.uiVal:
                return float(told.value.uiVal) / 1000.0
        with contextlib.suppress(self._nvml.NVMLError):
            return float(self._nvml.nvmlDeviceGetPowerUsage(self._card)) / 1000.0
        return None

    def _pids(self) -> frozenset[int]:
        found = self._nvml.nvmlDeviceGetComputeRunningProcesses(self._card)
        return frozenset(process.pid for process in found)

    def _memory(self) -> int:
        return int(self._nvml.nvmlDeviceGetMemoryInfo(self._card).used)

    def _busy_pct(self) -> int:
        return int(self._nvml.nvmlDeviceGetUtilizationRates(self._card).gpu)

    def resting(self) -> Resting:
        return Resting(self._pids(), self._memory())

    def works(self, worker_pid: int) -> bool:  # noqa: ARG002 - a container has numbers of its own
        self._load_w = self._power_w()
        return self._busy_pct() >= 90

    def off_card(self, worker_pid: int, before: Resting) -> bool:  # noqa: ARG002
        return self._pids() <= before.pids

    def idle(self, worker_pid: int) -> bool:  # noqa: ARG002
        return self._busy_pct() <= IDLE_PCT or self._draws_little()

    def _draws_little(self) -> bool:
        """Whether most of what the load drew is gone; clocks stay up for some seconds."""
        now_w = self._power_w()
        if now_w is None or self._rest_w is None or self._load_w is None:
            return False
        return now_w - self._rest_w < IDLE_SHARE * (self._load_w - self._rest_w)

    def memory_free(self, worker_pid: int, before: Resting) -> bool:  # noqa: ARG002
        return self._memory() <= before.memory_bytes + MEMORY_SLACK_BYTES


class SeenByProcesses:
    """For software Vulkan: the worker's processor time stands for the card's."""

    def __init__(self) -> None:
        self._worked_s: dict[int, tuple[float, float]] = {}

    def resting(self) -> Resting:
        return Resting(frozenset(), 0)

    def works(self, worker_pid: int) -> bool:
        return not self.idle(worker_pid)

    def off_card(self, worker_pid: int, before: Resting) -> bool:  # noqa: ARG002
        return not alive(worker_pid)

    def idle(self, worker_pid: int) -> bool:
        """Whether it has used no processor since the last look, a moment ago."""
        try:
            used = psutil.Process(worker_pid).cpu_times()
        except psutil.NoSuchProcess:
            return True
        now_s, used_s = time.monotonic(), used.user + used.system
        before_s, worked_s = self._worked_s.get(worker_pid, (now_s, -1.0))
        if worked_s < 0.0 or now_s - before_s > 0.1:
            self._worked_s[worker_pid] = (now_s, used_s)
        return used_s == worked_s and now_s - before_s > 0.1

    def memory_free(self, worker_pid: int, before: Resting) -> bool:
        return self.off_card(worker_pid, before)


def alive(pid: int) -> bool:
    """Whether a process runs; one that has ended and waits to be noticed does not."""
    try:
        return psutil.Process(pid).status() != psutil.STATUS_ZOMBIE
    except psutil.NoSuchProcess:
        return False


def until_over(
    seen: Seen, worker_pid: int, before: Resting, fault_s: float, within_s: float
) -> LoadOver:
    """Look until all is over, or `within_s` have passed since the fault at `fault_s`."""
    asked: dict[str, Callable[[], bool]] = {
        "process_off_card_s": lambda: seen.off_card(worker_pid, before),
        "idle_s": lambda: seen.idle(worker_pid),
        "memory_free_s": lambda: seen.memory_free(worker_pid, before),
        "worker_gone_s": lambda: not alive(worker_pid),
    }
    found: dict[str, float | None] = dict.fromkeys(asked)
    while any(value is None for value in found.values()):
        for name, holds in asked.items():
            if found[name] is None and holds():
                found[name] = time.monotonic() - fault_s
        if time.monotonic() - fault_s > within_s:
            break
        time.sleep(_EVERY_S)
    return LoadOver(**found)
