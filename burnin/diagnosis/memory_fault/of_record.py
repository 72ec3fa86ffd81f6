"""Failing words of a record, read through the one reader, and what explains them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from burnin.core.reading import Reading
from burnin.diagnosis.memory_fault.answer import MemoryAnswer
from burnin.diagnosis.memory_fault.explain_words import explain_words
from burnin.diagnosis.memory_fault.failing_words import WORD_BYTES, FailingWords
from burnin.engine.meanings import EngineNote
from burnin.record.reader import Record
from burnin.record.schema.listed_words import ListedWord

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

STAGE_KIND = "memory"
FAILING_WORDS_READING = "failing_words"
TESTED_READING = "tested_gib"
MIB = 1 << 20
_STEADY_K = 8.0
"""Rows carry no time: the memory of a stage that was no steadier has no temperature to give."""
_MOST_NAMES = 255


def explain_record(record: Record) -> MemoryAnswer | None:
    """What explains a record's failing words, None where it lists none."""
    words = words_of_record(record)
    return None if words is None else explain_words(words)


def words_of_record(record: Record) -> FailingWords | None:
    """A record's failing words of all memory stages, None where it lists none.

    The temperature of a word is that of its stage where that was steady, else NaN.
    """
    import numpy as np

    rows: list[ListedWord] = []
    parsed: list[tuple[int, int, int, int]] = []
    warmth: list[float] = []
    for stage, part in _by_stage(record):
        stage_c = _steady_c(record, stage)
        for row in part:
            numbers = _numbers(row)
            if numbers is not None:
                rows.append(row)
                parsed.append(numbers)
                warmth.append(stage_c)
    if not parsed:
        return None
    names = tuple(dict.fromkeys(row.pattern for row in rows))[:_MOST_NAMES]
    number = {name: n for n, name in enumerate(names)}
    patterns = [number.get(row.pattern, 0) for row in rows]
    columns: NDArray[np.uint64] = np.array(parsed, np.uint64).T
    return FailingWords(
        address_bytes=columns[0],
        expected=columns[1].astype(np.uint32),
        got=columns[2].astype(np.uint32),
        pattern=np.array(patterns, np.uint8),
        pattern_names=names,
        pass_number=columns[3].astype(np.uint16),
        memory_c=np.array(warmth, np.float64),
        swept_bytes=max(_swept_bytes(record), int(columns[0].max()) + WORD_BYTES),
        failing_total=max(len(record.listed_words), _failed(record.readings)),
        tested_c=_tested_c(record),
    )


def _by_stage(record: Record) -> Iterator[tuple[str, tuple[ListedWord, ...]]]:
    """Listed words by stage; all under no stage where the journal does not part them."""
    parts = [(stage, record.listed_words_of(stage)) for stage in _memory_stages(record)]
    if sum(len(part) for _, part in parts) == len(record.listed_words):
        yield from parts
    else:
        yield "", record.listed_words


def _memory_stages(record: Record) -> tuple[str, ...]:
    return tuple(dict.fromkeys(row.stage for row in record.stages if row.kind == STAGE_KIND))


def _numbers(row: ListedWord) -> tuple[int, int, int, int] | None:
    """Address, expected, got and pass of a row; None where it is none of 32-bit words."""
    try:
        found = (
            int(row.address_bytes, 16),
            int(row.expected, 16),
            int(row.got, 16),
            int(row.pass_ or "0"),
        )
    except ValueError:
        return None
    fits = found[0] < 1 << 48 and max(found[1:3]) < 1 << 32 and found[3] < 1 << 16
    return found if fits and min(found) >= 0 else None


def _swept_bytes(record: Record) -> int:
    """Bytes of the largest area that a memory test took, 0 where none told it."""
    notes = (entry.note() for entry in record.events("Noted"))
    taken = [
        float(mib) * MIB
        for note in notes
        if note is not None and note.means(EngineNote.PLAN_MEMORY)
        and isinstance(mib := dict(note.data).get("mib"), int | float)
    ]  # fmt: skip
    tested = [
        float(reading.value) * 1024 * MIB
        for reading in record.readings
        if reading.name == TESTED_READING and isinstance(reading.value, int | float)
    ]
    sane = (size for size in (*taken, *tested) if 0.0 < size < 1 << 48)
    return int(max(sane, default=0.0))


def _failed(readings: Iterable[Reading]) -> int:
    """All failing words that were counted, listed or not."""
    counts = (r.value for r in readings if r.name == FAILING_WORDS_READING)
    numbers = (c for c in counts if isinstance(c, int | float) and math.isfinite(c))
    return int(sum(numbers))


def _memory_c(record: Record, stages: Iterable[str]) -> list[float]:
    wanted = set(stages)
    series = record.series
    read = zip(series.stages, series.columns["memory_temp_c"], strict=True)
    return [celsius for stage, celsius in read if celsius is not None and stage in wanted]


def _steady_c(record: Record, stage: str) -> float:
    found = _memory_c(record, (stage,))
    if not found or max(found) - min(found) > _STEADY_K:
        return math.nan
    return sum(found) / len(found)


def _tested_c(record: Record) -> tuple[float, float] | None:
    found = _memory_c(record, _memory_stages(record))
    return (min(found), max(found)) if found else None
