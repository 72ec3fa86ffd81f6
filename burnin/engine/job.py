"""Jobs that an engine carries out, and what it tells while it does.

Jobs and events are plain data: they cross the pipe to the worker process as one JSON line each
(see `burnin.engine.wire`).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class ArithmeticLoad:
    """Keep the arithmetic units busy until stopped; `share` (0 to 1) of each slice is work."""

    share: float = 1.0


@dataclass(frozen=True)
class MemoryTest:
    """Write and check patterns over `share` (0 to 1) of the free memory, `passes` times.

    `patterns` are names of `burnin.engine.patterns`; `seed` starts the pseudo-random ones.
    `failing_words_path`: CSV file to which the worker appends every failing word, or empty.
    `duty` (0 to 1] is the share of time in which the card works.
    """

    share: float
    patterns: tuple[str, ...]
    passes: int = 1
    seed: int = 1
    duty: float = 1.0
    failing_words_path: str = ""


@dataclass(frozen=True)
class RepeatedCompute:
    """Compute the same result again and again for `seconds`; every repeat must equal the first."""

    seconds: float
    seed: int = 1
    duty: float = 1.0


@dataclass(frozen=True)
class LinkTraffic:
    """Copy between host and card for `seconds`: ``to_card``, ``to_host`` or ``both``."""

    seconds: float
    direction: str = "both"


Job = ArithmeticLoad | MemoryTest | RepeatedCompute | LinkTraffic


@dataclass(frozen=True)
class Started:
    """Work begins; `plan` says in words what will be done (memory found, buffers, kernels)."""

    plan: str


@dataclass(frozen=True)
class Progress:
    """How far the job is: `done` of `total` in `unit`; `note` names the present step."""

    done: float
    total: float
    unit: str
    note: str = ""


@dataclass(frozen=True)
class FailingWord:
    """One 32-bit word that read back wrong; `address_bytes` counts from the start of the test area.

    Where the API hides physical addresses the address is an offset in the tested area.
    """

    address_bytes: int
    expected: int
    got: int
    pattern: str


@dataclass(frozen=True)
class MemoryResult:
    """End of a memory test. `failing_words` counts all, `examples` holds the first of them.

    `pattern_failures`: failing words by pattern, 0 included. `tested_bytes` were written and
    checked by every pattern; `total_bytes` is the card's memory (0 if unknown).
    `bit_counts[b]`: how many failing words had bit b (0 to 31) flipped.
    """

    tested_bytes: int
    free_bytes: int
    total_bytes: int
    seconds: float
    pattern_failures: dict[str, int]
    failing_words: int
    bit_counts: tuple[int, ...]
    examples: tuple[FailingWord, ...]


@dataclass(frozen=True)
class ComputeMismatch:
    """One result that differed from the first: `index` in the result array of `repeat`."""

    unit: str
    repeat: int
    index: int
    expected: int
    got: int


@dataclass(frozen=True)
class ComputeResult:
    """End of a repeated computation.

    `results` counts compared 32-bit results by arithmetic unit; `reference_error`: of a sample
    against the bench's processor, failures by unit (0 is right); `operations` done in all.
    """

    seconds: float
    repeats: int
    results: dict[str, int]
    mismatches: int
    reference_failures: dict[str, int]
    examples: tuple[ComputeMismatch, ...]
    operations: float


@dataclass(frozen=True)
class TrafficResult:
    """End of a copy: bytes moved and mean rate each way (GB/s, 10^9), words that arrived wrong."""

    seconds: float
    to_card_bytes: int
    to_host_bytes: int
    to_card_gbs: float
    to_host_gbs: float
    wrong_words: int


@dataclass(frozen=True)
class LoadResult:
    """End of an arithmetic load: operations done while it ran."""

    seconds: float
    operations: float


@dataclass(frozen=True)
class Failed:
    """The job could not go on; `device_lost` when the card stopped answering."""

    reason: str
    device_lost: bool = False


WorkEvent = (
    Started
    | Progress
    | FailingWord
    | MemoryResult
    | ComputeResult
    | TrafficResult
    | LoadResult
    | Failed
)
"""A job's last event is its result, or `Failed`; both end it."""
