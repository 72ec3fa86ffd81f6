"""Jobs that an engine carries out, and what it tells while it does.

Jobs and events are plain data: they cross the pipe to the worker process as one JSON line each
(see `burnin.engine.process.wire`).
"""

from __future__ import annotations

from dataclasses import dataclass, field

from burnin.core.meaning import Cause, Note, Reason


@dataclass(frozen=True)
class ArithmeticLoad:
    """Keep the arithmetic units busy until stopped; `share` (0 to 1) of each slice is work."""

    share: float = 1.0


@dataclass(frozen=True)
class Plant:
    """Disturb words between write and check, to prove that the check finds them.

    Changes `count` words, the first at `address_bytes`, each `stride_bytes` further: first
    `clear_bits`, then `set_bits`, then `flip_bits`. Where `copy_from_bytes` is 0 or more, the
    word first takes the content of that address (as a faulty address decoder would have it).
    `after` says when: ``write`` (every pass that writes), ``pause`` or ``hammer``. `pattern`
    limits it to one pattern family (empty: every one).
    """

    address_bytes: int
    count: int = 1
    stride_bytes: int = 4
    clear_bits: int = 0
    set_bits: int = 0
    flip_bits: int = 0
    copy_from_bytes: int = -1
    after: str = "write"
    pattern: str = ""


@dataclass(frozen=True)
class MemoryTest:
    """Write and check patterns over `share` (0 to 1) of the free memory, `passes` times.

    `patterns` are names of `burnin.engine.device.patterns`; `seed` starts the pseudo-random ones.
    `failing_words_path`: CSV file to which the worker appends every failing word, or empty;
    beyond `list_limit` words they are counted and no longer listed.
    `duty` (0 to 1] is the share of time in which the card works.
    `free_bytes` is what the card says is free (0: the engine asks, or takes until refused);
    `max_bytes` caps the test area (0: no cap; a software adapter is capped at 64 MiB).
    `plants` disturb words on purpose: then failing words prove the check, not a fault.
    """

    share: float
    patterns: tuple[str, ...]
    passes: int = 1
    seed: int = 1
    duty: float = 1.0
    failing_words_path: str = ""
    free_bytes: int = 0
    max_bytes: int = 0
    list_limit: int = 8_000_000
    plants: tuple[Plant, ...] = ()


@dataclass(frozen=True)
class ResultPlant:
    """Flip bits of one result before it is compared, to prove that the comparison finds it.

    `unit` is the arithmetic unit's name, `index` the result's place, `repeat` the first repeat
    (2 or later) in whose slice it is disturbed.
    """

    unit: str
    index: int
    repeat: int = 2
    flip_bits: int = 1


@dataclass(frozen=True)
class RepeatedCompute:
    """Compute the same result again and again for `seconds`; every repeat must equal the first.

    `plants` disturb results on purpose: then mismatches prove the check, not a fault.
    """

    seconds: float
    seed: int = 1
    duty: float = 1.0
    plants: tuple[ResultPlant, ...] = ()


@dataclass(frozen=True)
class LinkTraffic:
    """Copy between host and card for `seconds`: ``to_card``, ``to_host`` or ``both``."""

    seconds: float
    direction: str = "both"


@dataclass(frozen=True)
class AllAtOnce:
    """Compute, memory and traffic ``both`` ways at once for `seconds`, every result checked.

    Before, each of them works alone: `memory` for one pass over its patterns, the others for
    `alone_s`. `rate_hz` above 0: all of them rest in the second half of each of its periods, so
    that the card's power is stepped. `memory.passes` and `memory.duty` are not heeded. `mix`: the
    mix of arithmetic that drew most power before (below 0: to be found).
    """

    seconds: float
    memory: MemoryTest
    seed: int = 1
    alone_s: float = 2.0
    rate_hz: float = 0.0
    plants: tuple[ResultPlant, ...] = ()
    mix: int = -1


Job = ArithmeticLoad | MemoryTest | RepeatedCompute | LinkTraffic | AllAtOnce


@dataclass(frozen=True)
class Started:
    """Work begins; `plan` says what will be done (memory found, buffers, kernels)."""

    plan: Note


@dataclass(frozen=True)
class Progress:
    """How far the job is: `done` of `total` in `unit`; `note` names the present step."""

    done: float
    total: float
    unit: str
    note: Note | None = None


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
    `listed_words` are in the CSV file (fewer than `failing_words` beyond the job's list limit).
    `stride_bytes` is the distance at which most neighbouring failing addresses lie (0: none);
    `hint` is what lanes and stride point at (None: nothing failed). `fault_classes` were looked for
    (values of `burnin.engine.device.meanings.FaultClass`).
    `complete` is False when the test was stopped before its end. `longest_slice_s`: the longest
    slice of work seen.
    """

    tested_bytes: int
    free_bytes: int
    total_bytes: int
    seconds: float
    pattern_failures: dict[str, int]
    failing_words: int
    bit_counts: tuple[int, ...]
    examples: tuple[FailingWord, ...]
    listed_words: int = 0
    stride_bytes: int = 0
    hint: Cause | None = None
    fault_classes: tuple[str, ...] = ()
    complete: bool = True
    longest_slice_s: float = 0.0


@dataclass(frozen=True)
class ComputeMismatch:
    """One result that differed from the first: `index` in the result array of `repeat`.

    `repeat` is the first of the repeats that one slice did together.
    """

    unit: str
    repeat: int
    index: int
    expected: int
    got: int


@dataclass(frozen=True)
class ComputeResult:
    """End of a repeated computation.

    `results` counts compared 32-bit results by arithmetic unit; `reference_failures`: of a sample
    against the bench's processor, failures by unit (0 is right; a unit without a reference is
    absent); `operations` done in all; `not_offered`: why a unit is not worked, by its name,
    `not_made`: likewise of one that the card should have;
    `worked_on`: on how many of the card's `processors` a unit's work ran, where the API tells.
    """

    seconds: float
    repeats: int
    results: dict[str, int]
    mismatches: int
    reference_failures: dict[str, int]
    examples: tuple[ComputeMismatch, ...]
    operations: float
    longest_slice_s: float = 0.0
    not_offered: dict[str, Reason] = field(default_factory=dict)
    processors: int = 0
    worked_on: dict[str, int] = field(default_factory=dict)
    not_made: dict[str, Reason] = field(default_factory=dict)


@dataclass(frozen=True)
class TrafficResult:
    """End of a copy: bytes moved and mean rate each way (GB/s, 10^9), words that arrived wrong.

    The rates are over the time in which copies ran. Every byte counted was verified.
    """

    seconds: float
    to_card_bytes: int
    to_host_bytes: int
    to_card_gbs: float
    to_host_gbs: float
    wrong_words: int
    longest_slice_s: float = 0.0


@dataclass(frozen=True)
class LoadResult:
    """End of an arithmetic load: operations done while it ran."""

    seconds: float
    operations: float
    longest_slice_s: float = 0.0


@dataclass(frozen=True)
class PartFault:
    """`wrong` more results of a part were wrong, seen `at_s` seconds after all began together.

    `part` is ``compute``, ``memory`` or ``link``. `at_s` is None while each works alone. `phase` of
    a power step: 0 to 0.5 while there is work, to 1 while there is none (0 without steps).
    """

    part: str
    wrong: int
    at_s: float | None
    phase: float = 0.0


SLOW_STEPS_HZ = 2.0
"""Steps of power up to this rate are told one by one; faster ones no sampler would follow."""


@dataclass(frozen=True)
class PhaseBegan:
    """From now on all parts work, or all rest, in slow steps of power."""

    works: bool


@dataclass(frozen=True)
class PartDone:
    """What a part did while all worked: `done` operations or bytes, and how many were `wrong`.

    The rates are over the time of work, alone and beside the others; `wrong` counts both times.
    """

    part: str
    done: float
    alone_per_s: float
    together_per_s: float
    wrong: int


@dataclass(frozen=True)
class TogetherResult:
    """End of work of all parts at once; `worked_s` of its `seconds` there was work on the card.

    `memory_bytes` were tested, `memory_passes` times over all patterns beside the others.
    `complete` is False when it was stopped before its time. `mix` was worked of several, -1 where
    there is only one.
    """

    seconds: float
    worked_s: float
    steps: int
    parts: tuple[PartDone, ...]
    memory_bytes: int
    memory_passes: int
    complete: bool = True
    longest_slice_s: float = 0.0
    mix: int = -1


@dataclass(frozen=True)
class Failed:
    """The job could not go on; `device_lost` when the card stopped answering."""

    reason: Reason
    device_lost: bool = False


WorkEvent = (
    Started
    | Progress
    | FailingWord
    | MemoryResult
    | ComputeResult
    | TrafficResult
    | LoadResult
    | PartFault
    | PhaseBegan
    | TogetherResult
    | Failed
)
LAST_EVENTS = (
    MemoryResult, ComputeResult, TrafficResult, LoadResult, TogetherResult, Failed
)  # fmt: skip
"""A job's last event is its result, or `Failed`; both end it."""
