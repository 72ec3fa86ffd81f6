"""What the terminal says of a batch."""

from __future__ import annotations

from burnin.core.meaning import TermCode


class BatchLine(TermCode):
    """Lines around the cards of a batch; `card` is a name and an address as shown."""

    BUDGET = "batch_line_budget", "budget_w", "cards_count"
    NO_BUDGET = "batch_line_no_budget", "cards_count"
    CARD = "batch_line_card", "card", "profile"
    CARD_OF_TICKET = "batch_line_card_of_ticket", "card", "profile", "ticket"
    SLOT = "batch_line_slot", "card", "slot_number"
    NAMED_SLOT = "batch_line_named_slot", "card", "slot"
    NOT_UNDER_BUDGET = "batch_line_not_under_budget", "reason"
    UNBOUNDED = "batch_line_unbounded", "address"
    GETS_READY = "batch_line_gets_ready"
    READY = "batch_line_ready"
    AT_STAGE = "batch_line_at_stage", "number", "stages_count", "stage"
    WAITS = "batch_line_waits", "reason"
    ASKS = "batch_line_asks"
    BAD = "batch_line_bad", "bad_count"
    SENSORS = "batch_line_sensors", "power", "temp"
    NO_WORD = "batch_line_no_word"
    MAKES_SHEET = "batch_line_makes_sheet"
    RECORD = "batch_line_record", "record"
    GO_ON = "batch_line_go_on", "command"
    FILE = "batch_line_file", "file"
    ASKED_FOR = "batch_line_asked_for", "card", "screens"
    NO_SCREEN = "batch_line_no_screen"
    ANSWERED_ELSEWHERE = "batch_line_answered_elsewhere", "card"
    WORD = "batch_line_word", "card", "word", "why"
