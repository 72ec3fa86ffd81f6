"""Lines that the commands around a ticket print."""

from __future__ import annotations

from burnin.core.meaning import TermCode


class TicketLine(TermCode):
    """`what`, `reason`, `flaw` are meanings, `fault` words of an error, `key` a fingerprint."""

    OWED = "ticket_line_owed", "what", "reason"
    TAKEN_IN = "ticket_line_taken_in", "number", "told"
    WARRANTY_IN_ANOTHER = "ticket_line_warranty_in_another", "language", "file"
    LEFT_OFF = "ticket_line_left_off", "number"
    PUT_OFF_BEFORE = "ticket_line_put_off_before", "stage", "by", "words"
    OWED_FROM = "ticket_line_owed_from", "what", "reason", "from_utc"
    DAMAGED = "ticket_line_damaged", "flaw"
    NO_OPEN_TICKET = "ticket_line_no_open_ticket"
    DAYS_LATE = "ticket_line_days_late", "days_count"
    EXPEDITED = "ticket_line_expedited"
    CLOSED = "ticket_line_closed"
    NOT_REPAIRED = "ticket_line_not_repaired"
    NO_DAY = "ticket_line_no_day"
    NOT_READ = "ticket_line_not_read", "fault"
    FINGERPRINT = "ticket_line_fingerprint", "verdict", "fingerprint"
    AS_IT_LEFT = "ticket_line_as_it_left", "path"
    CHANGED = "ticket_line_changed", "path"
    OTHER_KEY = "ticket_line_other_key", "path"
    SHOP_FILE = "ticket_line_shop_file", "path", "name"
    NO_SHOP_NAME = "ticket_line_no_shop_name", "path"
    PUBLIC_KEY = "ticket_line_public_key", "path", "key"
    FORMER_KEY = "ticket_line_former_key", "path", "key", "until_utc"
    NOT_SIGNED_ANEW = "ticket_line_not_signed_anew", "fault"
    EXAMPLE_WRITTEN = "ticket_line_example_written"


class ComparisonLine(TermCode):
    """Headings, columns and last lines of a comparison; `record` and `other` are records' names."""

    BESIDE_RECORD = "ticket_line_beside_record", "record", "verdict", "other", "other_verdict"
    BESIDE_SEVERAL = "ticket_line_beside_several", "record", "verdict", "records_count"
    BESIDE_PASSES = "ticket_line_beside_passes", "record", "verdict", "records_count", "profile"
    NOTHING_MATTERS = "ticket_line_nothing_matters"
    NO_VERDICT_DIFFERS = "ticket_line_no_verdict_differs"
    MORE_FINDINGS = "ticket_line_more_findings", "count"
    ROWS_LEFT_OUT = "ticket_line_rows_left_out", "rows_count"
    COLUMN_READING = "ticket_line_column_reading"
    COLUMN_OWN = "ticket_line_column_own"
    COLUMN_OTHER = "ticket_line_column_other"
    COLUMN_MEDIAN = "ticket_line_column_median"
    COLUMN_DIFFERENCE = "ticket_line_column_difference"
    COLUMN_SPREADS = "ticket_line_column_spreads"
    COLUMN_VERDICT = "ticket_line_column_verdict"
    PLOT = "ticket_line_plot", "path"
    NO_PLOT = "ticket_line_no_plot", "fault"
