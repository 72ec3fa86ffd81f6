"""What a target is: a reader, inputs that it takes, and how they are changed."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

from tests.fuzz.formats import Mutate, in_csv, in_json, in_toml
from tests.fuzz.mutators import mutate_bytes

Files = Mapping[str, bytes]
"""An input: contents by the file's path in the room; a target of bytes has the one file ``in``."""

ONE = "in"
MOST_BYTES = 100_000
"""To this size a file of an input may grow; sizes beyond are `test_sizes.py`'s."""
BYTES_INPUTS, FILE_INPUTS = 150_000, 50_000
"""Of the long form: for a parser of bytes, for any other reader."""


@dataclass(frozen=True)
class Target:
    """A reader under hostile input.

    `read` is given the room, a folder in which the input's files lie, and the input itself; it may
    raise errors of `burnin.core.errors` and nothing else, and leaves the room as it was. `in_room`:
    whether the files are laid there at all. `usual`: mutator of a file whose name tells no format.
    """

    name: str
    seeds: Callable[[Path], Sequence[Files]]
    read: Callable[[Path, Files], None]
    inputs: int = FILE_INPUTS
    in_room: bool = True
    usual: Mutate = mutate_bytes
    by_name: Mapping[str, Mutate] = field(default_factory=dict)
    writes: bool = False

    def mutated(self, rng: Random, input_: Files, others: Sequence[Files]) -> Files:
        """Another input: one to four changes of its files, now and then a file gone or empty."""
        files = dict(input_)
        for _ in range(rng.choice((1, 1, 1, 2, 4))):
            name = rng.choice(sorted(files))
            drawn = rng.random()
            if drawn < 0.01 and len(files) > 1:
                del files[name]
                continue
            same = [other[name] for other in others if name in other]
            fresh = self._mutator(name)(rng, files[name], same)
            if len(fresh) <= max(MOST_BYTES, len(files[name])):  # else each makes the next larger
                files[name] = fresh
        return files

    def _mutator(self, name: str) -> Mutate:
        if name in self.by_name:
            return self.by_name[name]
        ending = name.rpartition(".")[2]
        return {"toml": in_toml, "json": in_json, "csv": in_csv}.get(ending, self.usual)


def of_bytes(
    name: str,
    seeds: Callable[[], Sequence[bytes]],
    read: Callable[[bytes], object],
    usual: Mutate = mutate_bytes,
    inputs: int = BYTES_INPUTS,
) -> Target:
    """A target that takes bytes and no file."""

    def read_one(room: Path, input_: Files) -> None:
        read(input_[ONE])

    return Target(
        name,
        lambda _: [{ONE: seed} for seed in seeds()],
        read_one,
        inputs,
        in_room=False,
        usual=usual,
    )
