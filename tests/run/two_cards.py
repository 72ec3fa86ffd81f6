"""A bench with two simulated cards alike, each on a machine of its own that shares one clock.

The second machine's files are shown under other addresses, as a kernel would number them. Nothing
tells a reader that the bench is simulated but what the files themselves say.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from burnin.core.clock import Clock
from burnin.engine.burst_pattern import CHIP_S, chips
from burnin.sim.bench import SimulatedBench, simulated_bench
from burnin.sim.files.kernel_log import SimulatedRecords
from burnin.sim.physics.power import IDLE, Activity

FIRST, SECOND = "0000:01:00.0", "0000:02:00.0"
_SHIFTED = {
    "0000:02:00.0": "0000:01:00.0", "0000:00:02.0": "0000:00:01.0",
    "hwmon1": "hwmon0", "card1": "card0",
}  # fmt: skip


def _to_second(path: str) -> str:
    for there, here in _SHIFTED.items():
        path = path.replace(there, here)
    return path


def _from_second(path: str) -> str:
    for there, here in _SHIFTED.items():
        path = path.replace(here, there)
    return path


class TwoCardFiles:
    """Answers `burnin.card.files.BenchFiles` for both cards."""

    def __init__(self, first: SimulatedBench, second: SimulatedBench) -> None:
        self._first, self._second = first.files, second.files

    def _is_second(self, path: str) -> bool:
        return any(name in path for name in _SHIFTED)

    def read_bytes(self, path: str, limit: int = 1 << 20) -> bytes:
        if self._is_second(path):
            return self._second.read_bytes(_to_second(path), limit)
        return self._first.read_bytes(path, limit)

    def list_folder(self, path: str) -> list[str]:
        if self._is_second(path):
            return sorted(map(_from_second, self._second.list_folder(_to_second(path))))
        found = set(self._first.list_folder(path))
        try:
            found |= set(map(_from_second, self._second.list_folder(path)))
        except OSError:
            return sorted(found)
        if "/0000:0" in path:  # inside a device of the first card there is nothing of the second
            return self._first.list_folder(path)
        return sorted(found)

    def resolve(self, path: str) -> str:
        if self._is_second(path):
            return _from_second(self._second.resolve(_to_second(path)))
        return self._first.resolve(path)

    def open_records(self, path: str) -> SimulatedRecords:
        return self._first.open_records(path)


class SharedClock:
    """Time of the first machine; the second one's passes with it."""

    def __init__(self, first: SimulatedBench, second: SimulatedBench) -> None:
        self._first, self._second = first, second

    def monotonic_s(self) -> float:
        return self._first.clock.monotonic_s()

    def utc(self) -> datetime:
        return self._first.clock.utc()

    def sleep_s(self, seconds: float) -> None:
        self._second.machine.advance(max(0.0, seconds))
        self._first.clock.sleep_s(seconds)


class AnotherRun:
    """Works a machine as another run's proof and load do: slices in an order of its own, then all.

    `share` of full work; `from_s` on, `pattern_s` long in slices, from then on without a pause.
    """

    def __init__(self, share: float = 1.0, *, from_s: float = 0.0, pattern_s: float = 1e9) -> None:
        self._share, self._from_s, self._pattern_s = share, from_s, pattern_s
        self._order = chips("another run")
        self._drawn: list[bool] = []

    def activity(self, time_s: float) -> Activity:
        since_s = time_s - self._from_s
        if since_s < 0.0:
            return IDLE
        if since_s > self._pattern_s:
            return Activity(core=self._share, memory=0.2 * self._share)
        number = int(since_s / CHIP_S)
        while len(self._drawn) <= number:
            self._drawn.append(next(self._order))
        on = self._drawn[number]
        return Activity(core=self._share, memory=0.2 * self._share) if on else IDLE

    def worked(self, seconds: float) -> None:
        pass


@dataclass(frozen=True)
class TwoCards:
    """Both benches, the files of both, and the clock that they share."""

    first: SimulatedBench
    second: SimulatedBench
    files: TwoCardFiles
    clock: Clock


def two_cards(scenario: str = "healthy_x8", second: str = "healthy_x8") -> TwoCards:
    """Two cards alike unless said otherwise, of different seeds."""
    one, other = simulated_bench(scenario, 1), simulated_bench(second, 2)
    for bench in (one, other):
        bench.engine.address = ""  # as through Vulkan: the work itself must show whose it is
    return TwoCards(one, other, TwoCardFiles(one, other), SharedClock(one, other))
