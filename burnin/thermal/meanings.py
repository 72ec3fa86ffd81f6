"""What this room can mean: states of the cooling, suspects, checks, and a planner's reasons."""

from __future__ import annotations

from burnin.core.meaning import CauseCode, CheckCode, NoteCode, ReasonCode, TermCode


class CoolingTerm(TermCode):
    """Names of what the cooling is like; `states` and `state` hold terms of this list."""

    HEALTHY_AIR = "cooling_healthy_air"
    HEALTHY_LOOP = "cooling_healthy_loop"
    NO_COOLANT = "cooling_no_coolant"
    FLOW_LOST = "cooling_flow_lost"
    FAN_LOST = "cooling_fan_lost"
    POOR_MOUNT = "cooling_poor_mount"
    MISSING_PASTE = "cooling_missing_paste"
    CLOGGED = "cooling_clogged"
    UNKNOWN = "cooling_unknown"
    CANNOT_TELL = "cooling_cannot_tell"
    PERHAPS = "cooling_perhaps", "state"


class CoolingCause(CauseCode):
    """The part to suspect; `EITHER` where two ways to lose the flow are likely."""

    PLAN_FOR_AIR = "cooling_cause_plan_for_air"
    PLAN_FOR_LOOP = "cooling_cause_plan_for_loop"
    PLAN_FOR_STREAM = "cooling_cause_plan_for_stream"
    DRY_BLOCK = "cooling_cause_dry_block"
    PUMP = "cooling_cause_pump"
    FAN = "cooling_cause_fan"
    STREAM = "cooling_cause_stream"
    MOUNT = "cooling_cause_mount"
    PASTE = "cooling_cause_paste"
    CLOGGED = "cooling_cause_clogged"
    CLOGGED_IN_STREAM = "cooling_cause_clogged_in_stream"
    UNKNOWN = "cooling_cause_unknown"
    EITHER = "cooling_cause_either", "first", "second"


class CoolingCheck(CheckCode):
    """What to look at; `BOTH` where there are two suspects."""

    LESS_FOR_AIR = "cooling_check_less_for_air"
    LESS_FOR_LOOP = "cooling_check_less_for_loop"
    LESS_FOR_STREAM = "cooling_check_less_for_stream"
    LOOP_FILLED = "cooling_check_loop_filled"
    PUMP = "cooling_check_pump"
    FANS = "cooling_check_fans"
    STREAM = "cooling_check_stream"
    MOUNT = "cooling_check_mount"
    PASTE = "cooling_check_paste"
    DUST = "cooling_check_dust"
    DUST_IN_STREAM = "cooling_check_dust_in_stream"
    UNKNOWN = "cooling_check_unknown"
    BOTH = "cooling_check_both", "first", "second"


class RampNote(NoteCode):
    """Why a ramp that plans itself holds, steps or rests, and what it promises; `state`: a term."""

    COOLS_FIRST = "ramp_cools_first", "gpu_temp_c"
    GENTLE_FIRST_STEP = "ramp_gentle_first_step"
    TOO_SOON = "ramp_too_soon"
    TOP_POWER = "ramp_top_power"
    TOP_POWER_HELD = "ramp_top_power_held"
    TOO_LITTLE_LEFT = "ramp_too_little_left"
    NEXT_IS_SAFE = "ramp_next_is_safe", "state"
    LEARNING = "ramp_learning", "state", "sure_pct"
    SAFE_FROM_COOLER = "ramp_safe_from_cooler", "next_w"
    COOL_ENOUGH = "ramp_cool_enough"
    PROMISE_WITHIN_JOULES = "ramp_promise_within_joules", "budget_kj", "lasts_s", "power_w"
    PROMISE_TO_THE_TOP = "ramp_promise_to_the_top", "longest_s", "top_w"
    PROMISE_RESTS = "ramp_promise_rests", "rests_s"
    PROMISE_COOLANT_FIRST = "ramp_promise_coolant_first", "budget_kj"


class RampReason(ReasonCode):
    """Why a ramp that plans itself stops before its top power; `state`: a term."""

    TOO_WARM = "ramp_too_warm", "gpu_temp_c"
    DRY_BUDGET_SPENT = "ramp_dry_budget_spent", "spent_kj"
    NO_PROOF_OF_COOLANT = "ramp_no_proof_of_coolant", "spent_kj"
    WOULD_CROSS = "ramp_would_cross", "next_w", "state"
    WOULD_CROSS_AFTER_REST = "ramp_would_cross_after_rest", "next_w", "rested_s"
