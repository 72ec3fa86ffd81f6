"""What a ticket says: of work that is owed, to a run, of the next step, and of its own log."""

from __future__ import annotations

from burnin.core.meaning import NoteCode, OwedCode, ReasonCode, TermCode


class TicketReason(ReasonCode):
    """Why work is owed, or put off.

    `words` are a technician's own. `reason` is the reason that ends at the moment `from_utc`.
    `repairs` are terms, one for each joint (`RepairTerm.CURED_FOR`).
    """

    NO_RUN_SINCE_WORK = "ticket_no_run_since_work"
    NOT_CARRIED_OUT_YET = "ticket_not_carried_out_yet"
    LINK_PASSED_BEFORE_CURE = "ticket_link_passed_before_cure"
    FAILED_ELSEWHERE = "ticket_failed_elsewhere", "stage", "profile", "reason"
    NO_REASON_ON_RECORD = "ticket_no_reason_on_record"
    SEVERAL = "ticket_several_reasons", "reasons"
    CURING = "ticket_curing", "repairs"
    PUT_OFF = "ticket_put_off", "words"
    NOT_BEFORE = "ticket_not_before", "reason", "from_utc"


class TicketOwed(OwedCode):
    """Work that a ticket owes besides what a run has left (`burnin.core.verdict.OwedWhat`).

    `stage` is a stage's title (`burnin.core.verdict.stage_title`), `point` what is measured at a
    point (older records: its name), `titles` and `points` are those of several, and their names.
    """

    POINT = "ticket_owed_point", "point"
    POINTS = "ticket_owed_points", "titles", "points"
    SMOKE = "ticket_owed_smoke"
    FAILED_STAGE = "ticket_owed_failed_stage", "stage"
    FAILED_ELSEWHERE = "ticket_owed_failed_elsewhere", "stage", "profile"
    OF_FORMER_PROFILE = "ticket_owed_of_former_profile", "stage", "profile"
    LINK_AFTER_CURING = "ticket_owed_link_after_curing"
    LINK_AGAIN_AFTER_CURING = "ticket_owed_link_again_after_curing"


class TicketNote(NoteCode):
    """What a run's journal is told by its ticket; `words` are those of whoever overruled.

    `points` are what is owed on the unpowered card, `stages` names such as ``6-thermal_ramp``,
    `differs` terms, one for each fact of the card (`ticket.bound_card.meanings.CardTerm`).
    """

    OVERRULED = "ticket_overruled", "by", "time_utc", "point", "words"
    OVERRULED_UNNAMED = "ticket_overruled_unnamed", "time_utc", "point", "words"
    NOT_MEASURED_BEFORE_POWER = "ticket_not_measured_before_power", "points"
    BEFORE_TIME = "ticket_before_time", "by", "stages", "words"
    DONE_BEFORE_TIME = "ticket_done_before_time", "by", "time_utc", "stages", "words"
    DONE_BEFORE_TIME_UNNAMED = "ticket_done_before_time_unnamed", "time_utc", "stages", "words"
    OTHER_CARD = "ticket_run_on_other_card", "differs"
    SIMULATED_RUN = "ticket_simulated_run", "number"
    REAL_RUN = "ticket_real_run", "number"


class TicketTerm(TermCode):
    """In the place of a name that nobody gave."""

    SOMEBODY = "ticket_somebody"


class SlipTerm(TermCode):
    """A repair by its number, a value with its point; `value` is a quantity."""

    REPAIR = "slip_repair", "repair", "what"
    VALUE = "slip_value", "point", "value"
    NO_VALUE = "slip_no_value"


class SlipNote(NoteCode):
    """What was corrected, by whom and when; `was`, `reads` are quantities, `words` somebody's own.

    `measured_by` and `measured_utc`: who took the value that was taken back, and when.
    """

    VALUE_BACK = (
        "slip_value_back", "point", "was", "measured_by", "measured_utc", "by", "time_utc", "words"
    )  # fmt: skip
    SHORT_BACK = (
        "slip_short_back", "point", "was", "measured_by", "measured_utc", "by", "time_utc", "words"
    )  # fmt: skip
    REPAIR_BACK = "slip_repair_back", "repair", "what", "by", "time_utc", "words"
    CURE = "slip_cure", "repair", "what", "was", "now", "by", "time_utc", "words"


class RepairNote(NoteCode):
    """What was just put on the ticket; `repair` is its number, `cured_utc` until when it cures."""

    KEPT = "repair_kept", "repair", "what", "number"
    KEPT_CURING = "repair_kept_curing", "repair", "what", "cured_utc", "number"


class CureTerm(TermCode):
    """Until when a repair cures."""

    UNTIL = "cure_until", "until_utc"
    NOTHING = "cure_nothing"


class NextStep(NoteCode):
    """What to do next with a ticket; `against` are reasons, `from_utc` a moment."""

    CLOSED = "next_closed", "number"
    HAND_OVER = "next_hand_over", "number"
    HAND_OVER_NOTHING_OWED = "next_hand_over_nothing_owed", "number"
    NO_POWER = "next_no_power", "number", "against"
    MEASURE = "next_measure", "number"
    REPAIR = "next_repair", "number"
    RUN = "next_run", "number"
    RUN_SIMULATED = "next_run_simulated", "number"
    WAIT = "next_wait", "from_utc"


class EventNote(NoteCode):
    """One line of a ticket's log; `fields` are `FieldTerm`s, in the order of the log."""

    OPENED = "event_opened", "fields"
    CORRECTED = "event_corrected", "fields"
    SEEN = "event_seen", "fields"
    PHOTO = "event_photo", "fields"
    MEASURED = "event_measured", "fields"
    OVERRIDDEN = "event_overridden", "fields"
    REPAIRED = "event_repaired", "fields"
    VALUE_TAKEN_BACK = "event_value_taken_back", "fields"
    REPAIR_TAKEN_BACK = "event_repair_taken_back", "fields"
    CURE_CORRECTED = "event_cure_corrected", "fields"
    DEFERRED = "event_deferred", "fields"
    UNDEFERRED = "event_undeferred", "fields"
    FIRST_LIGHT = "event_first_light", "fields"
    BOUND = "event_bound", "fields"
    REPLACED = "event_replaced", "fields"
    RUN_BEGUN = "event_run_begun", "fields"
    RUN_ENDED = "event_run_ended", "fields"
    RUN_NOW = "event_run_now", "fields"
    NOTED = "event_noted", "fields"
    NO_FIX = "event_no_fix", "fields"
    HANDED_OVER = "event_handed_over", "fields"
    CLOSED = "event_closed", "fields"
    REOPENED = "event_reopened", "fields"
    OF_NEWER_TOOL = "event_of_newer_tool", "kind", "fields"


class FieldTerm(TermCode):
    """A field of an event with its value: what was typed, a number, a moment, or terms."""

    NUMBER = "field_number", "value"
    CUSTOMER = "field_customer", "value"
    REFERENCE = "field_reference", "value"
    CARD = "field_card", "value"
    SERIAL = "field_serial", "value"
    FAULT = "field_fault", "value"
    ACCESSORIES = "field_accessories", "value"
    PROMISED = "field_promised", "value"
    TECHNICIAN = "field_technician", "value"
    PROFILE = "field_profile", "value"
    LANGUAGE = "field_language", "value"
    EXPEDITED = "field_expedited", "value"
    WHERE = "field_where", "value"
    SEEN_WHERE = "field_seen_where", "value"
    SEEN_WHAT = "field_seen_what", "value"
    WHAT = "field_what", "value"
    NOTE = "field_note", "value"
    FILE = "field_file", "value"
    SHA256 = "field_sha256", "value"
    ORIGINAL = "field_original", "value"
    FOR_CUSTOMER = "field_for_customer", "value"
    POINT = "field_point", "value"
    VALUE = "field_value", "value"
    UNIT = "field_unit", "value"
    UNCERTAINTY = "field_uncertainty", "value"
    SOURCE = "field_source", "value"
    REASON = "field_reason", "value"
    CONTACTS = "field_contacts", "value"
    PATCHES = "field_patches", "value"
    CURED_UTC = "field_cured_utc", "value"
    CURED_NOTHING = "field_cured_nothing"
    REPAIR = "field_repair", "value"
    OF_UTC = "field_of_utc", "value"
    STAGE = "field_stage", "value"
    FROM_UTC = "field_from_utc", "value"
    ANSWERS = "field_answers", "value"
    ENDED_AT_ONCE = "field_ended_at_once", "value"
    TEXT = "field_text", "value"
    FOLDER = "field_folder", "value"
    VERDICT = "field_verdict", "value"
    FINGERPRINT = "field_fingerprint", "value"
    RUN = "field_run", "value"
    FACTS = "field_facts", "value"
    SIMULATED = "field_simulated", "value"
    OTHER_CARD = "field_other_card", "value"
    STAGES = "field_stages", "value"
    HEAD = "field_head", "value"
    DATA_SHA256 = "field_data_sha256", "value"


class FieldOfNewerTool(TermCode):
    """A field that this tool does not know."""

    FIELD = "field_of_newer_tool", "name", "value"


class FieldAnswer(TermCode):
    """The value of a field that only says that something is so."""

    SO = "field_is_so"
    OPEN = "field_is_open"
