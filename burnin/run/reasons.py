"""Why a run, or a stage of it, did not go on; and what a run notes of itself."""

from __future__ import annotations

from burnin.core.meaning import Note, NoteCode, ReasonCode


class RunReason(ReasonCode):
    """Reasons that the run itself gives.

    `reason` and `reasons` are reasons of others; `error` is the kind of an unforeseen error and
    `words` its own words.
    """

    SOFTWARE_WORKS_PROCESSOR = "run_software_works_processor"
    NOTHING_ENUMERATED = "run_nothing_enumerated"
    NOT_REACHED = "run_not_reached", "reason"
    LEFT_OUT_BY_HAND = "run_left_out_by_hand"
    CARD_GONE = "run_card_gone"
    CARD_GONE_AT_WORK = "run_card_gone_at_work", "reason"
    OTHER_CARD_WORKED = "run_other_card_worked", "reason"
    TEMPERATURE_UNREADABLE = "run_temperature_unreadable"
    NO_SENSOR_FOR_LOAD = "run_no_sensor_for_load", "reason"
    STILL_WARM = "run_still_warm", "waited_s", "gpu_temp_c", "below_c"
    TRIPPED_AFTER_FAILURES = "run_tripped_after_failures", "reason", "reasons"
    TOOL_FAILED = "run_tool_failed", "error", "words"
    NO_LOOP = "run_no_loop"
    SUPPLY_TOO_SMALL = "run_supply_too_small", "supply_w", "needed_w"
    SUPPLY_MAY_BE_TOO_SMALL = "run_supply_may_be_too_small", "supply_w"
    NOBODY_ANSWERED = "run_nobody_answered", "waited_s"
    UNATTENDED = "run_unattended"
    NOBODY_AT_HAND = "run_nobody_at_hand"
    NOT_GONE_ON_WITH = "run_not_gone_on_with", "folder", "flaws"
    CARD_HELD = "run_card_held", "address", "user", "pid", "since"
    CARD_HELD_FOR_RECORD = "run_card_held_for_record", "address", "user", "pid", "since", "record"
    CARD_HELD_BY_SOMEBODY = "run_card_held_by_somebody", "address"
    RECORD_HELD = "run_record_held", "record"
    NO_LOCK = "run_no_lock", "address", "reasons"
    LOCK_FOLDER_REFUSED = "run_lock_folder_refused", "folder", "words"


class RunNote(NoteCode):
    """Lines that the run itself writes into the journal; `traceback` is for whoever mends it."""

    COOLING_FIRST = "run_cooling_first", "gpu_temp_c", "below_c"
    STAGE_BROKE = "run_stage_broke", "error", "words", "traceback"
    CLEAN_UP_LEFT = "run_clean_up_left", "reason"
    CLEAN_UP_BROKE = "run_clean_up_broke", "error", "words", "traceback"
    LOCKED_ELSEWHERE = "run_locked_elsewhere", "reasons"
    NEIGHBOUR_WORKS = "run_neighbour_works", "address", "user", "pid"
    DONE_AGAIN = "run_done_again", "stage", "reason"
    RESUMED_ONCE = "run_resumed_once"
    RESUMED_OFTEN = "run_resumed_often", "times_count"


def resumed(times: int) -> Note | None:
    """That a run was interrupted and gone on with `times` times; None for 0."""
    if not times:
        return None
    return RunNote.RESUMED_ONCE() if times == 1 else RunNote.RESUMED_OFTEN(times_count=times)


class RunRefusal(ReasonCode):
    """What was asked of a run and cannot be had; `there` is what could have been."""

    NO_OPTIONS = "refused_run_no_options", "words"
    OWN_ENGINE = "refused_run_own_engine"
    NO_CARD = "refused_run_no_card"
    NO_CARD_AT = "refused_run_no_card_at", "address", "there"
    SEVERAL_CARDS = "refused_run_several_cards", "count", "there"
    OLDER_FORMAT = "refused_run_older_format", "folder", "format"
    AT_ITS_END = "refused_run_at_its_end", "folder", "verdict"
    OTHER_CARD = "refused_run_other_card", "folder", "card"
    OTHER_SERIAL = "refused_run_other_serial", "folder", "serial"
