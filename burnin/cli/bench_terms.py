"""Lines of `burnin bench`."""

from __future__ import annotations

from burnin.core.meaning import TermCode


class BenchLine(TermCode):
    """What known-good cards have shown, slot by slot; `carried` are `ShownTerm`s."""

    NOTHING = "bench_cli_nothing"
    SLOT = "bench_cli_slot", "port", "bench", "here"
    HERE = "bench_cli_here"
    STANDS = "bench_cli_stands", "carried"
    STANDS_NOT = "bench_cli_stands_not", "why"
    PROOF = (
        "bench_cli_proof", "proven_utc", "card", "width_lanes", "speed_gts", "by", "run_id",
    )  # fmt: skip
    AGE = "bench_cli_age", "days_count", "starts_count"
    PROVEN = "bench_cli_proven", "port", "card", "carried"
    REFUSED = "bench_cli_refused", "record"
    FORGOTTEN = "bench_cli_forgotten", "port"
    RECORDED = "bench_cli_recorded", "files_count", "cards_count", "folder"
    UNREAD = "bench_cli_unread", "file", "words"
