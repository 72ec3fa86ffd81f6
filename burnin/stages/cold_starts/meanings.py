"""What cold starts may mean."""

from __future__ import annotations

from burnin.core.meaning import NoteCode, PromptCode, ReasonCode, SourceCode


class ColdStartReason(ReasonCode):
    """Why a start does not count or has failed, and what comes next.

    `command` is what is typed after the next start, `next` one of NEXT and NEXT_RESEATED. SEEN_OF
    is MORE_WANTED for who does not stand at the bench.
    """

    NO_BOOT = "cold_starts_no_boot", "reason"
    FIRST_START = "cold_starts_first_start"
    WORKED_ON_SINCE = "cold_starts_worked_on_since"
    OFF_TOO_SHORT = "cold_starts_off_too_short", "off_s", "needed_s"
    FAILED = "cold_starts_failed", "failed_count", "starts_count", "reasons"
    HUNG = "cold_starts_hung", "hung_count", "starts_count"
    NEXT = "cold_starts_next", "number", "of_count", "wait_s", "command"
    NEXT_RESEATED = "cold_starts_next_reseated", "number", "of_count", "wait_s", "command"
    MORE_WANTED = "cold_starts_more_wanted", "seen_count", "wanted_count", "next"
    SEEN_OF = "cold_starts_seen_of", "seen_count", "wanted_count"


class ColdStartSource(SourceCode):
    """How starts were counted."""

    LINK_AT_EACH = "cold_starts_link_at_each"
    NEVER_JUDGED = "cold_starts_never_judged"
    BOOT_ID = "cold_starts_boot_id"
    SHARE_OF = "cold_starts_share_of", "starts_count", "lower"


class ColdStartNote(NoteCode):
    """What is put on record."""

    NOT_COUNTED = "cold_starts_not_counted", "reason"
    NEXT_STEP = "cold_starts_next_step", "next"


class ColdStartPrompt(PromptCode):
    """What the technician is asked."""

    RESEATED = "cold_starts_reseated"
