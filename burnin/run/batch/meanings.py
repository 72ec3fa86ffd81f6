"""Why a card of a batch came to no word, and what the keeper tells beside."""

from __future__ import annotations

from burnin.core.meaning import NoteCode, ReasonCode


class BatchReason(ReasonCode):
    """Why a card's run came to no word; `words` are what its process said last.

    `record` is where its record lies so far: the run is gone on with from there.
    """

    KILLED = "batch_killed", "signal"
    NOT_BEGUN = "batch_not_begun", "words"
    ENDED_WITHOUT_WORD = "batch_ended_without_word", "exit_code", "words"
    SILENT = "batch_silent", "silent_s"
    NOT_STARTED = "batch_not_started", "words"
    BENCH_HELD = "batch_bench_held"
    BUDGET_SHARED = "batch_budget_shared"
    BENCH_NOT_HELD = "batch_bench_not_held"
    NEVER_GONE = "batch_never_gone", "pid"
    OTHERS_RECORD = "batch_others_record", "record", "address"
    RECORD_UNREADABLE = "batch_record_unreadable", "words"


class BatchNote(NoteCode):
    """What the keeper tells while a batch goes on."""

    HANGS = "batch_hangs", "address", "silent_s"
    WORKER_LEFT = "batch_worker_left", "address", "pid"
    ENDED_LATE = "batch_ended_late", "address"
    DRAWS_MORE = "batch_draws_more", "address", "power_w"
    NO_POWER_LOG = "batch_no_power_log", "words"
