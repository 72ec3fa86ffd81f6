"""Why a ticket, a day or a span of time was not taken, as codes."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode


class LogRefusal(ReasonCode):
    """What was typed, or what a ticket's log holds; `there` is what could have been."""

    NO_SPAN = "refused_log_no_span", "text"
    TOO_LONG = "refused_log_too_long", "text"
    NO_DAY = "refused_log_no_day", "text"
    NO_MOMENT = "refused_log_no_moment", "text"
    FOLDER_ABOVE = "refused_log_folder_above", "number"
    NO_TICKET = "refused_log_no_ticket", "number", "results"
    OTHER_SPELLING = "refused_log_other_spelling", "number", "folder", "found"
    NO_FIELDS = "refused_log_no_fields", "fields", "there"
    TEXT_TOO_LONG = "refused_log_text_too_long", "field", "count", "most_count"
    NUMBER_EMPTY = "refused_log_number_empty", "number"
    OPEN_ALREADY = "refused_log_open_already", "number", "opened_utc"
    OTHERS_FOLDER = "refused_log_others_folder", "number", "folder", "there"
    CLOSED = "refused_log_closed", "number", "closed_utc"
    WRONG_EVENT = "refused_log_wrong_event", "file", "event", "kind", "why"
    NOT_A_MOMENT = "refused_log_not_a_moment", "text"
    NOT_TEXT = "refused_log_not_text", "field", "text"
    NOT_TEXTS = "refused_log_not_texts", "field", "text"
    NOT_A_NUMBER = "refused_log_not_a_number", "field", "text"
    NOT_A_TABLE = "refused_log_not_a_table", "field", "text"
    OWN_FOLDER = "refused_log_own_folder", "folder", "number", "own"
    HOLDS_NO_TICKET = "refused_log_holds_no_ticket", "file"
