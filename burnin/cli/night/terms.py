"""What is said of a night."""

from __future__ import annotations

from burnin.core.meaning import TermCode


class NightLine(TermCode):
    """Lines around the batches of a night; `card` is a ticket or an address, as it was queued."""

    BEGINS = "night_line_begins", "cards_count", "file"
    GOES_ON = "night_line_goes_on", "file"
    WAITS_UNTIL = "night_line_waits_until", "from_utc"
    WAITS_FOR_CARDS = "night_line_waits_for_cards", "cards"
    OVER = "night_line_over", "until_utc"
    TICKET = "night_line_ticket", "ticket"
    WORD = "night_line_word", "card", "word", "why"
    NOTHING_OWED = "night_line_nothing_owed", "card"
    OWED_LATER = "night_line_owed_later", "card", "from_utc"
    NOT_THERE = "night_line_not_there", "card"
    NOT_REACHED = "night_line_not_reached", "card"
    REFUSED = "night_line_refused", "card", "words"
    RECORD = "night_line_record", "record"
    MORNING = "night_line_morning", "cards_count", "done_count"
