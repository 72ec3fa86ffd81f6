"""Why nobody vouches for a ticket's log."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode


class LogHeadReason(ReasonCode):
    """`file` is a file's name beside the log."""

    MISSING = "log_head_missing", "file"
    CHANGED = "log_head_changed", "file"
    OTHER_KEY = "log_head_other_key", "file"
    LOG_CHANGED = "log_head_log_changed", "lines_count"
