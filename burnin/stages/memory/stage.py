"""Memory: patterns are written over the free memory and read back, word by word."""

from __future__ import annotations

from burnin.card.card import Counter
from burnin.core.reading import Limit, NotMeasured, judge, judge_text, known, not_measured
from burnin.engine.job import (
    FailingWord,
    MemoryResult,
    MemoryTest,
    Progress,
    Started,
    WorkEvent,
)
from burnin.profile.model import Memory
from burnin.stages.context import StageContext
from burnin.stages.counters import difference
from burnin.stages.load import run_job

FAILING_WORDS_FILE = "failing_words.csv"
_GIB = float(1 << 30)


def carry_out(context: StageContext, settings: Memory) -> None:
    """Run the patterns and judge what came back."""
    path = context.record_folder / FAILING_WORDS_FILE
    errors_before = context.card.memory_errors()
    job = MemoryTest(
        share=settings.share_of_free,
        patterns=tuple(settings.patterns),
        passes=settings.passes,
        seed=settings.seed,
        duty=settings.duty,
        failing_words_path=str(path),
        free_bytes=known(context.card.free_memory_bytes()) or 0,
    )
    results: list[MemoryResult] = []
    found: list[FailingWord] = []

    def on_event(event: WorkEvent) -> None:
        if isinstance(event, MemoryResult):
            results.append(event)
        elif isinstance(event, Progress):
            context.progress(event.done / _GIB, event.total / _GIB, "GiB", event.note)
        elif isinstance(event, FailingWord):
            found.append(event)
        elif isinstance(event, Started):
            context.note(event.plan)

    try:
        run_job(context, job, on_event)
    finally:
        if not results:
            _take_cut_short(context, found)
    result = results[0]
    if not result.complete:
        context.take(not_measured("whole_test", "", "the test was stopped before its end"))
    _take_counts(context, result)
    _take_own_errors(context, errors_before)
    _take_coverage(context, settings, result)


def _take_cut_short(context: StageContext, found: list[FailingWord]) -> None:
    """A test that did not end proves nothing, but a word that failed has failed."""
    if found:
        context.take(
            judge("failing_words", float(len(found)), "", Limit(0, 0), why_fail=_first(found[0]))
        )
    else:
        context.take(not_measured("failing_words", "", "the test did not come to its end"))


def _first(word: FailingWord) -> str:
    flipped = word.expected ^ word.got
    bits = ", ".join(str(b) for b in range(32) if flipped >> b & 1)
    return (
        f"first at byte address 0x{word.address_bytes:x}: wrote 0x{word.expected:08x}, read "
        f"0x{word.got:08x} (bit {bits} flipped), pattern {word.pattern}"
    )


def _take_counts(context: StageContext, result: MemoryResult) -> None:
    why = f"{result.failing_words} failing words"
    if result.examples:
        why += f", {_first(result.examples[0])}"
    context.take(
        judge(
            "failing_words",
            float(result.failing_words),
            "",
            Limit(0, 0),
            source="every word that was written was read back and compared",
            why_fail=why,
        )
    )
    for pattern, failures in result.pattern_failures.items():
        context.take(
            judge(
                f"failing_words {pattern}",
                float(failures),
                "",
                Limit(0, 0),
                why_fail=f"{failures} words read back wrong after pattern {pattern}",
            )
        )
    if result.failing_words:
        lanes = ", ".join(f"bit {b}: {n}" for b, n in enumerate(result.bit_counts) if n)
        context.take(judge_text("flipped_bits", lanes, None, required=False))
        listed = ", ".join(f"0x{w.address_bytes:x}" for w in result.examples[:8])
        context.take(judge_text("failing_addresses", listed, None, required=False))
        if result.hint:
            context.take(judge_text("failing_pattern", result.hint, None, required=False))
        if result.listed_words < result.failing_words:
            context.note(
                f"{result.listed_words} of {result.failing_words} failing words are listed; "
                "all are counted"
            )


def _take_own_errors(
    context: StageContext, before: tuple[Counter, ...] | NotMeasured
) -> None:
    """What the memory's own protection (ECC) counted meanwhile, corrected errors included."""
    after = context.card.memory_errors()
    if isinstance(before, NotMeasured) or isinstance(after, NotMeasured):
        lacking = before if isinstance(before, NotMeasured) else after
        assert isinstance(lacking, NotMeasured)
        context.take(not_measured("new_memory_errors", "", lacking.reason, required=False))
        return
    change = difference(before, after)
    risen = ", ".join(f"{name} {count}" for name, count in change.errors.items() if count)
    context.take(
        judge(
            "new_memory_errors",
            float(sum(change.errors.values())),
            "",
            Limit(0, 0),
            source=f"{len(change.errors)} counters of the card's memory protection, differences",
            required=False,
            why_fail=f"the memory's own protection counted {risen}",
        )
    )


def _take_coverage(context: StageContext, settings: Memory, result: MemoryResult) -> None:
    context.take(
        judge("tested_gib", result.tested_bytes / _GIB, "GiB", None, required=False)
    )
    classes = ", ".join(result.fault_classes)
    context.take(
        judge_text(
            "fault_classes_covered",
            classes or NotMeasured("no pattern came to its end"),
            None,
            required=False,
        )
    )
    share_free: float | NotMeasured = NotMeasured("the free memory is not known")
    if result.free_bytes:
        share_free = result.tested_bytes / result.free_bytes
    context.take(
        judge(
            "share_of_free_tested",
            share_free,
            "",
            # The last per mille: buffers come in whole pages.
            Limit(lower=round(settings.share_of_free - 0.001, 4)),
            why_fail="less of the free memory could be tested than the profile asks for",
        )
    )
    share_all: float | NotMeasured = NotMeasured("the size of the card's memory is not known")
    total_bytes = result.total_bytes or context.memory_bytes
    if total_bytes:
        share_all = result.tested_bytes / total_bytes
    context.take(
        judge(
            "share_of_all_tested",
            share_all,
            "",
            Limit(lower=settings.share_of_all_at_least),
            why_fail="too much of the memory was in use by something else",
        )
    )
