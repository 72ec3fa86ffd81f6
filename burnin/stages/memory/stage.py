"""Memory: patterns are written over the free memory and read back, word by word."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Protocol

from burnin.card.capabilities import HasMemory, TellsRatings
from burnin.core.meaning import Reason
from burnin.core.reading import Limit, Reading, judge, judge_text, known, not_measured
from burnin.engine.job import (
    FailingWord,
    MemoryResult,
    MemoryTest,
    Progress,
    Started,
    WorkEvent,
)
from burnin.stages.context import StageContext
from burnin.stages.counters_kept import counters_at_start
from burnin.stages.memory.coverage_readings import GIB, coverage_readings
from burnin.stages.memory.meanings import MemoryNote, MemoryReason, MemorySource
from burnin.stages.memory.own_errors import MEMORY_ERRORS, own_errors
from burnin.stages.memory.settings import Memory
from burnin.stages.memory.throughput_readings import WorkSeen, throughput_readings
from burnin.stages.working import run_job


class Needs(HasMemory, TellsRatings, Protocol):
    """What the memory test asks of a card."""


FAILING_WORDS_FILE = "failing_words.csv"
FAILING_WORDS = "failing_words"


def carry_out(context: StageContext[Needs], settings: Memory) -> None:
    """Run the patterns and judge what came back."""
    path = context.record_folder / FAILING_WORDS_FILE
    errors_before = counters_at_start(context, MEMORY_ERRORS, context.card.memory_errors())
    free = context.card.free_memory_bytes()
    before_cut = context.interrupted.failed_words
    if before_cut and not any(r.name == FAILING_WORDS for r in context.readings):
        context.take(_cut_short(before_cut))  # what failed once stays failed
    job = MemoryTest(
        share=settings.share_of_free,
        patterns=tuple(settings.patterns),
        passes=settings.passes,
        seed=settings.seed,
        duty=settings.duty,
        failing_words_path=str(path),
        free_bytes=known(free) or 0,
    )
    results: list[MemoryResult] = []
    found: list[FailingWord] = []
    seen = WorkSeen()

    def on_event(event: WorkEvent) -> None:
        if isinstance(event, MemoryResult):
            results.append(event)
        elif isinstance(event, Progress):
            seen.moved(event.done)
            context.progress(event.done / GIB, event.total / GIB, "GiB", event.note)
        elif isinstance(event, FailingWord):
            found.append(event)
        elif isinstance(event, Started):
            context.note(event.plan)

    try:
        run_job(context, job, on_event, seen.sample)
    finally:
        if not results:
            context.take(_cut_short(found))
    result = results[0]
    if not result.complete:
        context.take(not_measured("whole_test", "", MemoryReason.STOPPED_EARLY()))
    for reading in _counts(result):
        context.take(reading)
    if result.listed_words < min(result.failing_words, job.list_limit):
        # The disk took no more of the list; the verdict stands on the count.
        cut = MemoryReason.LIST_CUT(
            file=FAILING_WORDS_FILE,
            listed_count=result.listed_words,
            words_count=result.failing_words,
        )
        context.take(not_measured("failing_words_listed", "", cut))
    elif result.listed_words < result.failing_words:
        context.note(
            MemoryNote.LISTED(
                listed_count=result.listed_words, words_count=result.failing_words
            )
        )
    context.take(own_errors(errors_before, context.card.memory_errors()))
    for reading in coverage_readings(settings, result, free, context.memory_bytes):
        context.take(reading)
    for reading in throughput_readings(seen, settings, context.card.ratings()):
        context.take(reading)


def _cut_short(found: Sequence[FailingWord]) -> Reading:
    """A test that did not end proves nothing, but a word that failed has failed."""
    if not found:
        return not_measured(FAILING_WORDS, "", MemoryReason.UNFINISHED())
    return judge(
        FAILING_WORDS, float(len(found)), "", Limit(0, 0), why_fail=_first(found[0])
    )


def _first(word: FailingWord) -> Reason:
    flipped = word.expected ^ word.got
    return MemoryReason.FIRST_FAILING_WORD(
        address_bytes=word.address_bytes,
        expected=word.expected,
        got=word.got,
        bits=tuple(b for b in range(32) if flipped >> b & 1),
        pattern=word.pattern,
    )


def _counts(result: MemoryResult) -> Iterator[Reading]:
    """What failed: in all, by pattern, and where."""
    why = MemoryReason.FAILING_WORDS(words_count=result.failing_words)
    if result.examples:
        why = MemoryReason.FAILING_WORDS_FIRST(
            words_count=result.failing_words, first=_first(result.examples[0])
        )
    yield judge(
        FAILING_WORDS,
        float(result.failing_words),
        "",
        Limit(0, 0),
        source=MemorySource.EVERY_WORD_COMPARED(),
        why_fail=why,
    )
    for pattern, failures in result.pattern_failures.items():
        yield judge(
            f"failing_words {pattern}",
            float(failures),
            "",
            Limit(0, 0),
            why_fail=MemoryReason.PATTERN_FAILED(words_count=failures, pattern=pattern),
        )
    if not result.failing_words:
        return
    lanes = ", ".join(f"bit {b}: {n}" for b, n in enumerate(result.bit_counts) if n)
    yield judge_text("flipped_bits", lanes, None, required=False)
    listed = ", ".join(f"0x{w.address_bytes:x}" for w in result.examples[:8])
    yield judge_text("failing_addresses", listed, None, required=False)
    if result.hint is not None:
        pattern_seen = judge_text("failing_pattern", result.hint.code, None, required=False)
        yield replace(pattern_seen, reason=MemoryReason.POINTS_AT(cause=result.hint))
