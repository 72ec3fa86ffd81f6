"""What the memory test may mean."""

from __future__ import annotations

from burnin.core.meaning import NoteCode, ReasonCode, SourceCode


class MemoryReason(ReasonCode):
    """Why memory is not right, or not shown to be.

    `expected` and `got` are 32-bit words, `address_bytes` counts from the start of the tested area,
    `bits` are numbers of flipped bits, `risen` is a tuple of `StagesReason.COUNTER_ROSE`.
    """

    STOPPED_EARLY = "memory_stopped_early"
    UNFINISHED = "memory_unfinished"
    FIRST_FAILING_WORD = (
        "memory_first_failing_word",
        "address_bytes",
        "expected",
        "got",
        "bits",
        "pattern",
    )
    FAILING_WORDS = "memory_failing_words", "words_count"
    FAILING_WORDS_FIRST = "memory_failing_words_first", "words_count", "first"
    LIST_CUT = "memory_list_cut", "file", "listed_count", "words_count"
    PATTERN_FAILED = "memory_pattern_failed", "words_count", "pattern"
    POINTS_AT = "memory_points_at", "cause"
    PROTECTION_COUNTED = "memory_protection_counted", "risen"
    NO_PATTERN_ENDED = "memory_no_pattern_ended"
    FREE_UNKNOWN = "memory_free_unknown"
    TOTAL_UNKNOWN = "memory_total_unknown"
    FREE_SHORT = "memory_free_short"
    IN_USE = "memory_in_use"
    COUNTERS_BROKEN = "memory_counters_broken", "reasons"
    TOO_SHORT = "memory_too_short"
    PEAK_UNKNOWN = "memory_peak_unknown"
    FASTER_THAN_OWN = "memory_faster_than_own", "rate_gbs", "peak_gbs"
    CLOCK_LOW = "memory_clock_low", "clock_mhz", "most_mhz"


class MemorySource(SourceCode):
    """How memory was looked at; `classes` are the kinds of fault that the patterns find."""

    EVERY_WORD_COMPARED = "memory_every_word_compared"
    PROTECTION_COUNTERS = "memory_protection_counters", "counters_count"
    OWN_PEAK = "memory_own_peak", "peak_gbs", "clock_mhz"
    OWN_CLOCK = "memory_own_clock", "clock_mhz", "most_mhz"
    LOOKED_FOR = "memory_looked_for", "classes"


class MemoryNote(NoteCode):
    """What is put on record."""

    LISTED = "memory_words_listed", "listed_count", "words_count"
