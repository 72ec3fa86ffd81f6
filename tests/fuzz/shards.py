"""One target tried by several processes, which share what goes a new way.

The ways of all are added up: the last fifth found nothing new where none of them, in its own last
fifth, went a way that nobody had gone by then. What was found may be kept for the next run, which
tries it first.
"""

from __future__ import annotations

import hashlib
import pickle
import tempfile
import zlib
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from tests.fuzz.arcs import Way
from tests.fuzz.loop import Summary, fuzz
from tests.fuzz.target import Files
from tests.fuzz.targets import target


class Shared:
    """Answers `tests.fuzz.loop.Others` by a folder with a file for each input that was found."""

    def __init__(self, folder: Path) -> None:
        self._folder, self._seen = folder, set[str]()
        self.before_last_fifth: frozenset[Way] = frozenset()
        self.at_end: frozenset[Way] = frozenset()

    def give(self, input_: Files) -> None:
        """Written whole before it has its name."""
        content = zlib.compress(pickle.dumps(dict(input_)))
        name = hashlib.sha256(content).hexdigest()[:24]
        begun = self._folder / f".{name}"
        begun.write_bytes(content)
        begun.rename(self._folder / name)
        self._seen.add(name)

    def take(self) -> list[Files]:
        """Those that are new."""
        paths = [p for p in self._folder.iterdir() if not p.name.startswith(".")]
        fresh = sorted(p for p in paths if p.name not in self._seen)
        self._seen |= {path.name for path in fresh}
        return [pickle.loads(zlib.decompress(path.read_bytes())) for path in fresh]


def fuzz_in_shards(
    name: str,
    *,
    inputs: int,
    seed: int,
    shards: int,
    most_s: float,
    corpus: Path | None = None,
    keep: Path | None = None,
) -> Summary:
    """A run over one target in so many processes; `inputs` of all together.

    `corpus`: a folder with what earlier runs found, and what this one does. `keep`: where an
    uncaught input is put as soon as it was met.
    """
    whole = inputs or target(name).inputs
    with tempfile.TemporaryDirectory(prefix="burnin-fuzz-") as room:
        shared = Path(room) / "shared" if corpus is None else corpus / name
        shared.mkdir(parents=True, exist_ok=True)
        each = -(-whole // shards)
        with ProcessPoolExecutor(shards) as pool:
            jobs = [
                pool.submit(_shard, name, Path(room), shared, number, each, seed, most_s, keep)
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
    name: str,
    room: Path,
    shared: Path,
    number: int,
    inputs: int,
    seed: int,
    most_s: float,
    keep: Path | None,
) -> tuple[Summary, frozenset[Way], frozenset[Way]]:
    chosen, others = target(name), Shared(shared)
    own = room / str(number)
    own.mkdir()
    # One that ended late has seen nothing before its last fifth: all it found counts as gained.
    found = fuzz(
        chosen,
        own,
        inputs=inputs,
        seed=seed + number,
        most_s=most_s,
        others=others,
        keep=None if keep is None else keep / f"{name}-{number}",
    )
    return found, others.before_last_fifth, others.at_end
