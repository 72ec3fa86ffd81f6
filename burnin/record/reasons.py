"""What can be wrong with a record's files, or was never in them."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode


class RecordReason(ReasonCode):
    """Flaws of files, and reasons that only a reader gives.

    `file` is a file's name in the record's folder, `lines` the first few line numbers (the header
    is line 1), `line` a line from which on, `from_row` and `to_row` rows (the first is row 1)
    between which, `keys` keys of run.json, `stages` names of stages, `lines_count` and `size_bytes`
    how much, `words` words that an older tool wrote. Of a log that somebody holds: `who` (a reason
    of this enum), `process` its name, `number` its number, `seconds` left, or waited.
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

    CHAIN_BROKEN = "record_chain_broken", "file", "line"
    CHAIN_GONE = "record_chain_gone", "file"
    ROWS_GONE = "record_rows_gone", "file", "rows_count"
    ROWS_CHANGED = "record_rows_changed", "file", "from_row", "to_row"
    ROWS_ADDED = "record_rows_added", "file", "rows_count"
    OPENING_DISAGREES = "record_opening_disagrees", "file"
    STAGES_DISAGREE = "record_stages_disagree", "file", "stages"
    END_DISAGREES = "record_end_disagrees", "file", "keys"
    PROFILE_DISAGREES = "record_profile_disagrees", "file"
    NO_CHAIN = "record_no_chain"

    LOG_LINE_TORN = "record_log_line_torn", "line"
    LOG_END_TORN = "record_log_end_torn", "size_bytes"
    LOG_HELD = "record_log_held", "file", "who", "seconds"
    LOG_HELD_GIVEN_UP = "record_log_held_given_up", "file", "who", "seconds"
    HOLDER = "record_log_holder", "process", "number"
    HOLDER_STOPPED = "record_log_holder_stopped", "process", "number"
    HOLDER_UNKNOWN = "record_log_holder_unknown"

    SINK_RAISED = "record_sink_raised", "error", "words"
    SINK_TOO_SLOW = "record_sink_too_slow", "events_count"


class RecordRefusal(ReasonCode):
    """Why a record or a log cannot be read; `words` are those of whoever read it."""

    OTHER_COLUMNS = "refused_record_other_columns", "file"
    LINE_TAKEN_OUT = "refused_record_line_taken_out", "file", "line"
    LINE_CHANGED = "refused_record_line_changed", "file", "line"
    OTHER_FORMAT = "refused_record_other_format", "file", "found", "newest"
    NO_OBJECT = "refused_record_no_object", "file"
    WRONG_FIELDS = "refused_record_wrong_fields", "file", "words"
    WRONG_CONTENT = "refused_record_wrong_content", "file", "words"
    NO_RUN_FILE = "refused_record_no_run_file", "folder", "name"
    NO_JSON = "refused_record_no_json", "file", "words"
    CUT_SHORT = "refused_record_cut_short", "folder"
