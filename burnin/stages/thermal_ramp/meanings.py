"""What a thermal ramp may mean."""

from __future__ import annotations

from burnin.core.meaning import NoteCode, ReasonCode, SourceCode, TermCode


class ThermalRampReason(ReasonCode):
    """Why a value of a ramp is wrong, unsure or not measured.

    `chances` are terms STATE_CHANCE, most likely first; `state` is a term of the cooling's state;
    `elements` and `causes` (most likely first) are terms of this module; `set_limit_w` is None
    where it is not told; `source` is where an extrapolated value is from. Of a ramp that
    was held back `asked` and `held` are notes POWER or LOAD, `warning` a note.
    """

    CUT = "thermal_ramp_cut"
    BUDGET_SPENT = "thermal_ramp_budget_spent"
    NOTHING_TO_PLAN_BY = "thermal_ramp_nothing_to_plan_by"
    UNREAD = "thermal_ramp_unread"
    ENDED_BY_PLAN = "thermal_ramp_ended_by_plan", "reason"
    STEPPED_DOWN = "thermal_ramp_stepped_down", "asked", "held", "warning", "check"
    ENDED_ON_WARNING = "thermal_ramp_ended_on_warning", "asked", "warning", "check"
    SPARED = "thermal_ramp_spared", "reason"
    NO_SUCH_SENSOR = "thermal_ramp_no_such_sensor"
    NO_POWER_SENSOR = "thermal_ramp_no_power_sensor", "reason"
    NO_FAN_SPEED = "thermal_ramp_no_fan_speed", "reason"
    FAN_STOOD = "thermal_ramp_fan_stood", "stood_s"
    FAN_OF_SEVERAL_STOOD = "thermal_ramp_fan_of_several_stood", "fan", "stood_s"
    FAN_UNREAD = "thermal_ramp_fan_unread", "fan", "reason"
    SLOWING_UNTOLD = "thermal_ramp_slowing_untold", "reason"
    SLOWED = "thermal_ramp_slowed", "after_s"
    SLOWED_AT_TEMP = "thermal_ramp_slowed_at_temp", "gpu_temp_c", "after_s"
    SLOWED_AT_POWER = "thermal_ramp_slowed_at_power", "power_w", "after_s"
    SLOWED_AT_BOTH = "thermal_ramp_slowed_at_both", "gpu_temp_c", "power_w", "after_s"
    SLOWED_WITH_COOLING = "thermal_ramp_slowed_with_cooling", "reason", "state"
    STILL_MOVING = "thermal_ramp_still_moving", "drift_k", "over_s"
    TOO_FEW_SAMPLES = "thermal_ramp_too_few_samples"
    NO_TEMP_OR_POWER = "thermal_ramp_no_temp_or_power", "reason"
    LITTLE_POWER = "thermal_ramp_little_power", "rise_w"
    NO_TEMP_AT_END = "thermal_ramp_no_temp_at_end"
    STEP_TOO_SHORT = "thermal_ramp_step_too_short", "needed_s"
    FAR_FROM_SETTLED = "thermal_ramp_far_from_settled", "gpu_temp_c", "heading_c"
    FULL_WORK = "thermal_ramp_full_work", "reached_w", "asked_w"
    NO_OWN_LIMIT = "thermal_ramp_no_own_limit"
    ASKS_FOR_LESS = "thermal_ramp_asks_for_less"
    BELOW_OWN_POWER = (
        "thermal_ramp_below_own_power",
        "power_w",
        "limit_w",
        "share_pct",
        "set_limit_w",
        "causes",
    )
    STEP_UNSETTLED = "thermal_ramp_step_unsettled", "step_s"
    SHARE_HELD = "thermal_ramp_share_held"
    NO_ROW = "thermal_ramp_no_row"
    LOOP_KNOWN_MISSING = "thermal_ramp_loop_known_missing"
    AS_IF_LOOP = "thermal_ramp_as_if_loop"
    CANNOT_TELL = "thermal_ramp_cannot_tell", "chances"
    COOLING_AT_FAULT = "thermal_ramp_cooling_at_fault", "sure_pct", "chances", "suspect", "check"
    COOLING_IS = "thermal_ramp_cooling_is", "state", "sure_pct", "suspect", "check"
    LOOKS_SO = "thermal_ramp_looks_so", "sure_pct", "reason"
    NOT_SURE = "thermal_ramp_not_sure", "chances"
    NO_MODEL_FITS = "thermal_ramp_no_model_fits", "sure_pct", "suspect", "check"
    NOT_SURE_OF_FAULT = "thermal_ramp_not_sure_of_fault", "chances", "suspect", "check"
    MOUNT_RESISTS = (
        "thermal_ramp_mount_resists",
        "resistance_k_per_w",
        "limit_k_per_w",
        "suspect",
        "check",
    )
    BELIEVED_ONLY = "thermal_ramp_believed_only", "low", "high", "unit"
    RISE_NEEDS_LOOP = "thermal_ramp_rise_needs_loop", "rated_w"
    NOT_REACHED = "thermal_ramp_not_reached", "source"
    NEVER_AT_REST = "thermal_ramp_never_at_rest"
    OWN_LIMIT_UNKNOWN = "thermal_ramp_own_limit_unknown", "reason"


class ThermalRampTerm(TermCode):
    """Names of elements of the cooling, and of a state with how likely it is."""

    STATE_CHANCE = "thermal_ramp_state_chance", "state", "chance_pct"
    SUPPLY_CONTACTS = "thermal_ramp_supply_contacts"
    SENSE_LINES = "thermal_ramp_sense_lines"
    POWER_PLUG = "thermal_ramp_power_plug"
    DRIVER_LIMIT = "thermal_ramp_driver_limit"
    LIGHT_WORK = "thermal_ramp_light_work"
    DIE_TO_BLOCK = "element_die_to_block"
    BLOCK_TO_COOLANT = "element_block_to_coolant"
    BLOCK_TO_ROOM = "element_block_to_room"
    COOLANT_TO_ROOM = "element_coolant_to_room"
    DIE_TO_HOTSPOT = "element_die_to_hotspot"


class ThermalRampSource(SourceCode):
    """Where a value of a ramp is from; `median` is in `unit`."""

    SURE = "thermal_ramp_sure", "sure_pct"
    STRAIGHT_LINE = "thermal_ramp_straight_line", "over_s"
    STEP_RESPONSE = "thermal_ramp_step_response"
    ACCURACY_STATED = "thermal_ramp_accuracy_stated", "where"
    SETTLED_RISE = "thermal_ramp_settled_rise"
    OWN_LIMIT = "thermal_ramp_own_limit", "limit_w", "power_w"
    OWN_LIMIT_HOT = "thermal_ramp_own_limit_hot", "limit_w", "power_w"
    OWN_CLOCK = "thermal_ramp_own_clock", "clock_mhz", "most_mhz"
    OWN_LIMIT_REACHED = "thermal_ramp_own_limit_reached", "limit_w", "power_w"
    END_OF_LAST_STEP = "thermal_ramp_end_of_last_step"
    ENERGY_COUNTER = "thermal_ramp_energy_counter", "over_s"
    POWER_SENSOR = "thermal_ramp_power_sensor", "over_s"
    IDENTIFIED = "thermal_ramp_identified", "median", "unit"
    IDENTIFIED_AT_FAN = "thermal_ramp_identified_at_fan", "median", "unit", "fan_rpm"
    HELD = "thermal_ramp_held", "rated_w"
    EXTRAPOLATED = "thermal_ramp_extrapolated", "rated_w", "held_w", "state"
    EXTRAPOLATED_FROM_NOTHING = "thermal_ramp_extrapolated_from_nothing", "rated_w", "state"
    WITH_BELIEFS = "thermal_ramp_with_beliefs", "source", "elements"


class ThermalRampNote(NoteCode):
    """What the ramp does now; `asked` is POWER or LOAD, `why` a note of the plan or None."""

    POWER = "thermal_ramp_power", "power_w"
    LOAD = "thermal_ramp_load", "load_share"
    STEP = "thermal_ramp_step", "number", "steps_count", "asked"
    STEP_DONE = "thermal_ramp_step_done", "asked", "why"
    BUDGET_SPENT = "thermal_ramp_budget_note", "budget_j"
    STEPS_OF_PROFILE = "thermal_ramp_steps_of_profile"
    OWN_STEP = "thermal_ramp_own_step", "number", "power_w", "why"
    FULL_WORK = "thermal_ramp_full_work_note"
    WARNING_WAIT = "thermal_ramp_warning_wait"
    WARNING_REST = "thermal_ramp_warning_rest", "rest_s"
    WARNING_LOWER = "thermal_ramp_warning_lower", "share"
    AGAIN = "thermal_ramp_again"
    RESTING = "thermal_ramp_resting"
    ENDED = "thermal_ramp_ended", "reason"
