"""What the history tells: why something was not taken in, and what an answer rests on."""

from __future__ import annotations

from burnin.core.meaning import NoteCode, ReasonCode


class HistoryReason(ReasonCode):
    """Why there is no history, or why a file is kept apart.

    `missing` are packages, `words` what the reader of the file said, `flaws` its condition.
    `server` is an address without a password, `mode` a mode of TLS, `place` a record's folder.
    """

    NOT_INSTALLED = "history_not_installed", "missing"
    NO_STORE = "history_no_store", "folder"
    OTHER_LAYOUT = "history_other_layout", "folder"
    STORE_HELD = "history_store_held", "folder"
    STORE_BROKEN = "history_store_broken", "folder", "words"
    UNREADABLE = "history_unreadable", "words"
    NOT_CLOSED = "history_not_closed"
    FLAWED = "history_flawed", "flaws"
    DOES_NOT_FIT = "history_does_not_fit", "words"
    NO_RESULTS = "history_no_results", "folder"
    NOT_A_QUESTION = "history_not_a_question", "question", "questions"
    NOT_A_WAY = "history_not_a_way", "question", "by", "ways"
    NEEDS_CARD = "history_needs_card"
    NO_SUCH_CARD = "history_no_such_card", "card"
    NO_PLOT = "history_no_plot", "question"
    PLOT_ENDING = "history_plot_ending", "file"
    NO_PSEUDONYM = "history_no_pseudonym", "words"
    NO_DRIVER = "history_no_driver", "missing"
    SERVER_ADDRESS = "history_server_address", "words"
    SERVER_NEEDS_TLS = "history_server_needs_tls", "server", "mode"
    SERVER_GONE = "history_server_gone", "server", "words"
    SERVER_HELD = "history_server_held", "server"
    SERVER_RIGHTS = "history_server_rights", "server", "words"
    SERVER_NOT_LAID_OUT = "history_server_not_laid_out", "server"
    SERVER_REFUSED = "history_server_refused", "server", "words"
    NO_SEAL_KEY = "history_no_seal_key", "words"
    NO_SERVER = "history_no_server"
    CHANGED_THERE = "history_changed_there"
    LINE_MISSING = "history_line_missing"
    NOT_AS_FILES = "history_not_as_files"


class HistoryNote(NoteCode):
    """What was taken in, and what an answer rests on and does not tell."""

    SYNCED = "history_synced", "taken_count", "apart_count", "unchanged_count", "folder"
    PROGRESS = "history_progress", "done_count", "all_count"
    KEPT_APART = "history_kept_apart", "file", "reason"
    LAID_OUT = "history_laid_out", "server", "bench_role", "office_role"
    LAID_OUT_BEFORE = "history_laid_out_before", "server"
    VERIFIED = "history_verified", "lines_count", "files_count", "faults_count"
    NOT_VERIFIED = "history_not_verified", "lines_count"
    FAULT_THERE = "history_fault_there", "place", "origin", "reason"
    NOT_BROUGHT_UP = "history_not_brought_up", "words"
    AS_OF = "history_as_of", "at_utc", "runs_count", "apart_count"
    SIMULATED = "history_simulated"
    NOTHING = "history_nothing"
    NO_CLAIM = "history_no_claim", "compared_count", "share_pct"
    CLAIMS = "history_claims", "claims_count", "compared_count", "share_pct"
    CENSORED = "history_censored", "open_count", "all_count"
    SEVERAL_GROUPS = "history_several_groups"
    ALL_GROUPS = "history_all_groups", "p"
    RETURN_IS = "history_return_is", "days"
    FINDS_ARE = "history_finds_are"
    CHART = "history_chart", "shift_sd", "limit", "run_length", "half_run_length"
    TOO_FEW = "history_too_few", "least_count", "left_out_count"
    KNOWN_GOOD_ARE = "history_known_good_are"
    OUTLIERS_ARE = "history_outliers_are"
    FIRST_YIELD_IS = "history_first_yield_is"
    CONTACTS_ARE = "history_contacts_are"
    DOUBT_IS = "history_doubt_is", "margin_pct"
    OWED_IS = "history_owed_is"
