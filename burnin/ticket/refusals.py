"""Why a ticket's number or stage cannot be taken, as codes."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode, TermCode


class TicketRefusal(ReasonCode):
    """What was typed; `there` is what could have been, `free` a number that is free."""

    OTHERS_FOLDER = "refused_ticket_others_folder", "number", "folder", "there", "free"
    KEPT_FOR_DAYS = "refused_ticket_kept_for_days", "number", "folder", "free"
    KEPT_FOR_ELSE = "refused_ticket_kept_for_else", "number", "folder", "free"
    STRANGERS = "refused_ticket_strangers", "number", "folder", "strangers", "free"
    WHY_PUT_OFF = "refused_ticket_why_put_off", "stage"
    NOT_PUT_OFF = "refused_ticket_not_put_off", "stage", "number", "there"
    NOTHING_PUT_OFF = "refused_ticket_nothing_put_off", "stage", "number"
    NO_STAGE = "refused_ticket_no_stage", "stage", "there"
    CLOSED = "refused_ticket_closed", "number", "closed_utc"
    NO_RUN = "refused_ticket_no_run", "number"
    WHAT_REPLACED = "refused_ticket_what_replaced", "text", "there"
    WHICH_REPLACED = "refused_ticket_which_replaced", "what"
    NOBODY_ANSWERED = "refused_ticket_nobody_answered", "number"
    NO_ANSWER = "refused_ticket_no_answer", "text", "there"
    NOTHING_MEASURED = "refused_ticket_nothing_measured", "record"
    NAMED_TWICE = "refused_ticket_named_twice", "record"
    NO_OTHER_PASS = "refused_ticket_no_other_pass", "profile", "results"
    WHY_TAKEN_BACK = "refused_ticket_why_taken_back"
    NO_REPAIR = "refused_ticket_no_repair", "number"
    WHICH_REPAIR = "refused_ticket_which_repair", "number", "there"
    NOT_MEASURED_THERE = "refused_ticket_not_measured_there", "point", "number", "there"
    WHICH_VALUE = "refused_ticket_which_value", "point", "number", "there"
    NOTHING_IN_COMMON = "refused_ticket_nothing_in_common", "record", "other"


class StrangerTerm(TermCode):
    """What lies where a ticket would lie."""

    FILE = "stranger_file"
    RECORD_OF = "stranger_record_of", "number"
    RECORD_ALONE = "stranger_record_alone"
