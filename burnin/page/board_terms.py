"""What the pages of tickets and of a round say of their own."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode, TermCode


class BoardTerm(TermCode):
    """Labels and lines of the board and of a ticket's page."""

    TITLE = "board_title"
    TO_BOARD = "board_to_board"
    TO_RUN = "board_to_run"
    TO_ROUND = "board_to_round"
    TO_TICKETS = "board_to_tickets"
    OPEN_TICKETS = "board_open_tickets"
    OPEN_COUNT = "board_open_count", "tickets_count"
    NO_OPEN_TICKET = "board_no_open_ticket", "folder"
    MORE_TICKETS = "board_more_tickets", "tickets_count"
    NOT_READ = "board_not_read", "fault"
    NOT_WORKED_OUT = "board_not_worked_out", "fault"
    WORKING_OUT = "board_working_out"
    NO_RUN = "board_no_run"
    LAST_WORD = "board_last_word"
    LOOKED_OVER = "board_looked_over"
    GOES_ON = "board_goes_on"
    CUT_OFF = "board_cut_off"
    PROMISED = "board_promised", "day_utc"
    NO_DAY = "board_no_day"
    DAYS_LATE = "board_days_late", "days_count"
    EXPEDITED = "board_expedited"
    CLOSED = "board_closed"
    SIMULATED = "board_simulated"
    OWED = "board_owed"
    OWED_NOTHING = "board_owed_nothing"
    OWED_NOW = "board_owed_now", "what", "reason"
    OWED_FROM = "board_owed_from", "what", "reason", "from_utc"
    OWED_MORE = "board_owed_more", "owed_count"
    NEXT = "board_next"


class TicketTerm(TermCode):
    """Labels and lines of a ticket's page."""

    TITLE = "board_ticket_title"
    NO_TICKET = "board_no_ticket", "number"
    CUSTOMER = "board_customer"
    CARD = "board_card"
    FAULT = "board_fault"
    PROMISED_FOR = "board_promised_for"
    SEEN = "board_seen"
    REPAIRED = "board_repaired"
    DAMAGE = "board_damage", "where", "what", "note"
    RUNS = "board_runs"
    RUNS_TOLD = "board_runs_told", "shown_count", "runs_count"
    STAGE = "board_stage"
    NOT_IN_RUN = "board_not_in_run"
    OPEN_RUN = "board_open_run"
    SHEETS = "board_sheets"
    OF_HANDOVER = "board_of_handover"
    NO_SHEETS = "board_no_sheets"
    PHOTOS = "board_photos"
    NO_PHOTOS = "board_no_photos"
    PHOTO_NAMED = "board_photo_named", "original", "note"
    PHOTO_GONE = "board_photo_gone"
    FOR_CUSTOMER = "board_for_customer"
    MORE_PHOTOS = "board_more_photos", "photos_count"
    ADD_PHOTO = "board_add_photo"
    CHOOSE = "board_choose"
    NOTE = "board_note"
    SEND_PHOTO = "board_send_photo"
    SENDING = "board_sending"
    PHOTO_TOLD = "board_photo_told", "most_mib"
    PHOTO_TAKEN = "board_photo_taken"
    STORY = "board_story"


class RoundTerm(TermCode):
    """Labels and lines of the page over all runs under way."""

    TITLE = "round_title"
    NONE = "round_none", "folder"
    COUNT = "round_count", "runs_count", "cards_count"
    ONE = "round_one"
    ENDED = "round_ended", "runs_count"
    PROMPT_OF = "round_prompt_of", "card"
    MORE_PROMPTS = "round_more_prompts", "prompts_count"
    WAITS = "round_waits"
    WAITS_FIRST = "round_waits_first"
    CARD = "round_card"
    AT_ADDRESS = "round_at_address", "address"
    OPEN = "round_open"


class BoardReason(ReasonCode):
    """Why a picture is not taken."""

    NO_SUCH_TICKET = "board_no_such_ticket"
    NO_SUCH_FILE = "board_no_such_file"
    NOT_A_PICTURE = "board_not_a_picture"
    TICKET_CLOSED = "board_ticket_closed", "number"
    TOO_MANY_PICTURES = "board_too_many_pictures"
    NOT_KEPT = "board_not_kept", "words"
    TOO_MANY_RECORDS = "board_too_many_records"
