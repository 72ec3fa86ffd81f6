"""What engines can mean, whichever API works the card: reasons, notes of a job, hints, sources."""

from __future__ import annotations

from burnin.core.meaning import CauseCode, NoteCode, ReasonCode, SourceCode, TermCode


class EngineReason(ReasonCode):
    """Why work could not be done or went no further.

    `how` is a reason, from the driver or from how the work behaved. `words` are a driver's or the
    system's own. ``…_MOVED`` and ``GUARD_ENDED_BURST`` are in records of earlier versions alone.
    """

    CARD_LOST = "engine_card_lost", "how"
    NO_ANSWER = "engine_no_answer"
    SLICE_DID_NOT_END = "engine_slice_did_not_end", "seconds"
    WORK_STOOD_STILL = "engine_work_stood_still", "seconds"
    DRIVER_SAYS = "engine_driver_says", "words"
    NO_HEARTBEAT = "engine_no_heartbeat", "seconds"
    JOB_RUNS = "engine_job_runs"
    BENCH_MEMORY_FULL = "engine_bench_memory_full"

    UNKNOWN_ENGINE = "engine_unknown", "asked", "known"
    NO_SOFTWARE_ADAPTER = "engine_no_software_adapter", "engine"
    NONE_AT_HAND = "engine_none_at_hand"
    NOT_LOADED = "engine_not_loaded", "words"
    NO_WORKER = "engine_no_worker", "engine"

    FAILING_WORDS_UNWRITTEN = "engine_failing_words_unwritten", "words"
    PLANT_NOT_WHOLE_WORDS = "engine_plant_not_whole_words", "address_bytes", "stride_bytes"
    PLANT_OUTSIDE = "engine_plant_outside", "words_planted", "address_bytes", "area_bytes"
    NO_RESULT_TO_DISTURB = "engine_no_result_to_disturb", "unit", "index", "repeat", "units"
    WRONG_UNDER_LOAD = "engine_wrong_under_load", "results"
    UNKNOWN_DIRECTION = "engine_unknown_direction", "asked", "known"

    COUNTER_ROSE = "engine_counter_rose", "signal", "before", "during"
    NO_COUNTERS = "engine_proof_no_counters"
    GUARD_ENDED_BURST = "engine_proof_guard_ended_burst"
    NO_COUNTER_MOVED = "engine_proof_no_counter_moved"
    OTHER_CARD_MOVED = "engine_proof_other_card_moved", "rises"
    OTHER_CARD_MOVED_TOO = "engine_proof_other_card_moved_too", "rises"
    THIS_CARD_MOVED = "engine_proof_this_card_moved", "rises"
    SAME_ADDRESS = "engine_proof_same_address", "address"
    SAME_UUID = "engine_proof_same_uuid", "uuid"
    OTHER_ADDRESS = "engine_proof_other_address", "address", "wanted"
    PROCESS_ON_CARD = "engine_proof_process_on_card", "pid"
    THIS_CARD_FOLLOWED = "engine_proof_this_card_followed", "rises", "slices_count"
    NO_COUNTER_FOLLOWED = "engine_proof_no_counter_followed", "slices_count"
    OTHER_CARD_FOLLOWED = "engine_proof_other_card_followed", "address"
    OTHER_CARD_FOLLOWED_TOO = "engine_proof_other_card_followed_too", "address"
    PROOF_HEAT_SPENT = "engine_proof_heat_spent", "spent_j", "slices_count"


class EngineNote(NoteCode):
    """Why this engine, what a job is about to do, and how far it is."""

    ASKED_FOR = "engine_why_asked_for"
    ANY_VENDOR = "engine_why_any_vendor"
    FASTEST_FOR_VENDOR = "engine_why_fastest_for_vendor"
    OTHER_NOT_AT_HAND = "engine_why_other_not_at_hand", "engine", "reason"
    CHOSEN_AND_OPENED = "engine_why_chosen_and_opened", "chosen", "opened"

    PLAN_LOAD = "engine_plan_load", "unit"
    PLAN_COMPUTE = "engine_plan_compute", "units"
    PLAN_TRAFFIC = "engine_plan_traffic", "direction", "blocks"
    PLAN_MEMORY = "engine_plan_memory", "mib", "buffers", "patterns", "passes"

    PLAN_ALL_AT_ONCE = "engine_plan_all_at_once", "parts", "mib"

    SHARE = "engine_progress_share", "share"
    RESULTS_COMPARED = "engine_progress_results_compared", "results"
    BYTES_MOVED = "engine_progress_bytes_moved", "moved_bytes"
    PASS = "engine_progress_pass", "pattern", "kind"

    HELD_BY_ENERGY = "engine_held_by_energy"
    HELD_BY_POWER_SENSOR = "engine_held_by_power_sensor"
    HELD_AS_SHARE = "engine_held_as_share", "share"


class EngineCause(CauseCode):
    """What the bit lanes and the stride of failing words point at; bits count from 0.

    `spacing` is an `EngineTerm` of how the words lie, or None where they lie anyhow.
    """

    ONE_BIT = "engine_memory_one_bit", "bit", "spacing"
    ONE_BYTE = "engine_memory_one_byte", "first_bit", "last_bit", "spacing"
    ONE_HALF_WORD = "engine_memory_one_half_word", "first_bit", "last_bit", "spacing"
    BITS_ALL_OVER = "engine_memory_bits_all_over", "spacing"


class EngineTerm(TermCode):
    """Names of directions, units, passes over memory, and how failing words lie."""

    TO_CARD = "engine_traffic_to_card"
    TO_HOST = "engine_traffic_to_host"
    BOTH = "engine_traffic_both"
    COMPUTE = "engine_part_compute"
    MEMORY = "engine_part_memory"
    LINK = "engine_part_link"
    UNIT = "engine_unit", "unit", "results"
    WRITE = "engine_pass_write"
    CHECK = "engine_pass_check"
    CHECK_THEN_WRITE = "engine_pass_check_then_write"
    PAUSE = "engine_pass_pause"
    HAMMER = "engine_pass_hammer"
    SIDE_BY_SIDE = "engine_words_side_by_side"
    APART = "engine_words_apart", "stride_bytes"


class EngineSource(SourceCode):
    """How it was found out which card an engine works."""

    COUNTERS_UNDER_WORK = "engine_source_counters_under_work", "seen"
