"""One target tried by several processes, which share what goes a new way.

The ways of all are added up: the last fifth found nothing new where none of them, in its own last
fifth, went a way that nobody had gone by then.
"""

from __future__ import annotations

import pickle
import tempfile
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from tests.fuzz.arcs import Way
from tests.fuzz.loop import Summary, fuzz
from tests.fuzz.target import Files
from tests.fuzz.targets import target


class Shared:
    """Answers `tests.fuzz.loop.Others` by a folder with a file for each input that was found."""

    def __init__(self, folder: Path, number: int) -> None:
        self._folder, self._number = folder, number
        self._given, self._seen = 0, set[str]()
        self.before_last_fifth: frozenset[Way] = frozenset()
        self.at_end: frozenset[Way] = frozenset()

    def give(self, input_: Files) -> None:
        """Written whole before it has its name."""
        self._given += 1
        name = f"{self._number}-{self._given}"
        begun = self._folder / f".{name}"
        begun.write_bytes(pickle.dumps(dict(input_)))
        begun.rename(self._folder / name)
        self._seen.add(name)

    def take(self) -> list[Files]:
        """Those that are new."""
        paths = [p for p in self._folder.iterdir() if not p.name.startswith(".")]
        fresh = sorted(p for p in paths if p.name not in self._seen)
        self._seen |= {path.name for path in fresh}
        return [pickle.loads(path.read_bytes()) for path in fresh]


def fuzz_in_shards(name: str, *, inputs: int, seed: int, shards: int, most_s: float) -> Summary:
    """A run over one target in so many processes; `inputs` of all together."""
    whole = inputs or target(name).inputs
    with tempfile.TemporaryDirectory(prefix="burnin-fuzz-") as room:
        shared = Path(room) / "shared"
        shared.mkdir()
        with ProcessPoolExecutor(shards) as pool:
            jobs = [
                pool.submit(_shard, name, Path(room), number, -(-whole // shards), seed, most_s)
                for number in range(shards)
            ]
            done = [job.result() for job in jobs]
    found = Summary(name)
    early, late = set[Way](), set[Way]()
    for one, before, at_end in done:
        found.inputs += one.inputs
        found.refused += one.refused
        found.processor_s += one.processor_s
        found.slowest_s = max(found.slowest_s, one.slowest_s)
        found.uncaught |= one.uncaught
        early |= before
        late |= at_end
    found.arcs, found.gained_in_last_fifth = len(late), len(late - early)
    return found


def _shard(
    name: str, room: Path, number: int, inputs: int, seed: int, most_s: float
) -> tuple[Summary, frozenset[Way], frozenset[Way]]:
    chosen, others = target(name), Shared(room / "shared", number)
    own = room / str(number)
    own.mkdir()
    # One that ended late has seen nothing before its last fifth: all it found counts as gained.
    found = fuzz(
        chosen, own, inputs=inputs, seed=seed + number, most_s=most_s, others=others
    )
    return found, others.before_last_fifth, others.at_end
