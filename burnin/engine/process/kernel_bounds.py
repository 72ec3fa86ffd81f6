"""What the worker asks of the kernel, which keeps it though every thread of the worker hangs.

Two bounds (Linux only; elsewhere the worker's own threads keep theirs): the worker dies with the
thread that started it (``prctl``, ``PR_SET_PDEATHSIG``), and it dies when nobody has put off its
end for LAST_RESORT_S. The second is a timer of POSIX (``timer_create``) that sends SIGKILL: it
also ends a worker that was stopped (SIGSTOP) or whose interpreter hangs inside a library. A thread
in uninterruptible wait dies as soon as the wait ends, and queues nothing until then.
"""

from __future__ import annotations

import ctypes
import os
import sys

LAST_RESORT_S = 2.5
"""A worker whose newest beat is older than this, while a job runs, is killed by the kernel."""
SIGKILL = 9
"""signal(7)."""
PR_SET_PDEATHSIG = 1
"""linux/prctl.h: the kernel sends this signal when the parent thread dies."""
_CLOCK_MONOTONIC = 1
_SIGEV_SIGNAL = 0
_TIMER_ABSTIME = 1
"""linux/time.h and asm-generic/siginfo.h."""


class _SignalEvent(ctypes.Structure):
    """``struct sigevent``: 64 bytes of which a signal needs three fields."""

    _fields_ = (
        ("value", ctypes.c_void_p),
        ("signo", ctypes.c_int),
        ("notify", ctypes.c_int),
        ("rest", ctypes.c_char * 48),
    )


class _TimerSpec(ctypes.Structure):
    """``struct itimerspec``: interval and value, each in seconds and nanoseconds."""

    _fields_ = (
        ("interval_s", ctypes.c_long),
        ("interval_ns", ctypes.c_long),
        ("value_s", ctypes.c_long),
        ("value_ns", ctypes.c_long),
    )


def die_with_parent(parent_pid: int) -> None:
    """Ask the kernel to kill this process when the parent dies; ends at once if it already has."""
    if sys.platform == "linux":
        _die_with(parent_pid)


def _die_with(parent_pid: int) -> None:
    ctypes.CDLL(None, use_errno=True).prctl(PR_SET_PDEATHSIG, SIGKILL, 0, 0, 0)
    if os.getppid() != parent_pid:
        os._exit(0)


class LastResort:
    """The kernel's timer; does nothing where the system offers none."""

    def __init__(self) -> None:
        self._timer = ctypes.c_void_p()
        self._library = ctypes.CDLL(None, use_errno=True)
        event = _SignalEvent(signo=SIGKILL, notify=_SIGEV_SIGNAL)
        self._there = hasattr(self._library, "timer_create") and not self._library.timer_create(
            _CLOCK_MONOTONIC, ctypes.byref(event), ctypes.byref(self._timer)
        )

    def put_off(self, beat_s: float) -> None:
        """The end comes LAST_RESORT_S after `beat_s` (monotonic), unless put off again."""
        whole, part = divmod(beat_s + LAST_RESORT_S, 1.0)
        self._set(int(whole), int(part * 1e9))

    def call_off(self) -> None:
        """No job runs: nothing has to end."""
        self._set(0, 0)

    def _set(self, seconds: int, nanoseconds: int) -> None:
        if self._there:
            spec = _TimerSpec(value_s=seconds, value_ns=nanoseconds)
            self._library.timer_settime(self._timer, _TIMER_ABSTIME, ctypes.byref(spec), None)
