"""What can be wrong with a record's files, or was never in them."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode


class RecordReason(ReasonCode):
    """Flaws of files, and reasons that only a reader gives.

    `file` is a file's name in the record's folder, `lines` the first few line numbers (the header
    is line 1), `lines_count` and `size_bytes` how much, `words` words that an older tool wrote.
    """

    WORDS_OF_FORMAT_1 = "words_of_format_1", "words"
    CELL_BLANK = "record_cell_blank"

    FILE_MISSING = "record_file_missing", "file"
    NO_WHOLE_LINE = "record_no_whole_line", "file"
    END_TORN = "record_end_torn", "file", "lines"
    TORN_BEFORE_RESUME = "record_torn_before_resume", "file", "lines_count", "lines"
    LINES_DAMAGED = "record_lines_damaged", "file", "lines_count", "lines"
    CHANGED_SINCE_SUMS = "record_changed_since_sums", "file"
    GONE_SINCE_SUMS = "record_gone_since_sums", "file"
    ADDED_SINCE_SUMS = "record_added_since_sums", "file"
    OTHER_COLUMNS = "record_other_columns", "file", "columns"
    OTHER_RUN = "record_other_run", "file", "run_id"
    UNKNOWN_STAGE = "record_unknown_stage", "file", "stages"

    LOG_LINE_TORN = "record_log_line_torn", "line"
    LOG_END_TORN = "record_log_end_torn", "size_bytes"

    SINK_RAISED = "record_sink_raised", "error", "words"
    SINK_TOO_SLOW = "record_sink_too_slow", "events_count"
