"""A run begun from the stick's screen: a process of its own, which the power key ends in order."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

_EVERY_S = 0.5


@dataclass(frozen=True)
class Ended:
    """How a run ended, how long it took, the least memory free meanwhile; if power goes off."""

    code: int
    seconds: float
    least_free_mib: int
    power_off: bool = False


def carried_out(words: Sequence[str]) -> Ended:
    """`burnin` with these words, on this terminal, to its end.

    A request to end (the power key) goes to the run, which takes its load away and closes its
    record; this waits for it as long as that takes.
    """
    began = time.monotonic()
    child = subprocess.Popen([sys.executable, "-m", "burnin", *words])
    over, least, asked = threading.Event(), [free_mib()], list[int]()

    def watch() -> None:
        while not over.wait(_EVERY_S):
            least[0] = min(least[0], free_mib())

    watcher = threading.Thread(target=watch, daemon=True)
    watcher.start()

    def pass_on(number: int, _: object) -> None:
        asked.append(number)
        child.send_signal(number)

    heard = (signal.SIGTERM, signal.SIGINT)
    before = {number: signal.signal(number, pass_on) for number in heard}
    try:
        code = child.wait()
    finally:
        over.set()
        watcher.join()
        for number, handler in before.items():
            signal.signal(number, handler)
    return Ended(code, time.monotonic() - began, least[0], signal.SIGTERM in asked)


def free_mib() -> int:
    """Memory that programs could still have."""
    return _memory("MemAvailable")


def all_mib() -> int:
    """Memory that there is."""
    return _memory("MemTotal")


def _memory(name: str) -> int:
    with Path("/proc/meminfo").open(encoding="ascii") as lines:
        for line in lines:
            if line.startswith(f"{name}:"):
                return int(line.split()[1]) // 1024
    return 0


def since_start_s() -> float:
    """How long ago the kernel started."""
    if sys.platform != "linux":
        return 0.0
    else:  # each branch is another system's
        return time.clock_gettime(time.CLOCK_BOOTTIME)


def now_in(settings_language: str, time_zone: str, shop: Path) -> None:
    """From here on this process and its children speak so, in this zone, for this shop."""
    os.environ["LANG"] = {"de": "de_DE.UTF-8"}.get(settings_language, "en_GB.UTF-8")
    os.environ["TZ"] = time_zone
    os.environ["BURNIN_SHOP"] = str(shop)
    if sys.platform != "win32":
        time.tzset()
