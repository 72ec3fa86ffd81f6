"""What the terminal says of its own: labels and lines around what the run says."""

from __future__ import annotations

from burnin.core.meaning import TermCode


class ScreenTerm(TermCode):
    """Lines of the screen; `what` and `why` are meanings, `watts` a list as it is shown."""

    CARD = "cli_card"
    CARD_AT = "cli_card_at", "card", "address"
    PROFILE = "cli_profile"
    ENGINE = "cli_engine"
    BENCH = "cli_bench"
    RECORD = "cli_record"
    SHEET = "cli_sheet"
    NEXT = "cli_next", "command"
    PLOTS = "cli_plots"
    STAGE_OF = "cli_stage_of", "number", "stages_count"
    EXPECTED = "cli_expected", "seconds"
    LEFT = "cli_left", "stage_s", "run_s"
    LEFT_AT_LEAST = "cli_left_at_least", "run_s"
    LEFT_OF_RUN = "cli_left_of_run", "run_s"
    TAKEN_OVER = "cli_taken_over"
    MORE_VALUES = "cli_more_values", "values_count"
    GUARD_ENDED = "cli_guard_ended", "guard"
    SUSPECTED = "cli_suspected", "what"
    CHECK = "cli_check", "what"
    LOOK_AT = "cli_look_at", "number", "sure_pct", "cause", "check"
    WARNING = "cli_warning", "what"
    FORECAST = "cli_forecast", "band", "expected"
    PLANNED = "cli_planned", "watts"
    PLANNED_WHY = "cli_planned_why", "watts", "why"
    ASKED = "cli_asked", "what", "answer"
    NOT_ANSWERED = "cli_not_answered", "what"
    PROMPT_OF = "cli_prompt_of", "number", "of_count"
    PROMPT_SILENCE = "cli_prompt_silence", "seconds", "counts"
    PROMPT_ENTER = "cli_prompt_enter", "counts"
    PROMPT_EITHER = "cli_prompt_either", "seconds", "counts"
    PROMPT_BACK = "cli_prompt_back"
    PROMPT_SKIP_WHY = "cli_prompt_skip_why"
    PROMPT_ANSWER = "cli_prompt_answer"
    PROMPT_WAITS = "cli_prompt_waits", "seconds"
    STILL_OWED = "cli_still_owed"
    OWED_LINE = "cli_owed_line", "what", "why"
    SINK_DETACHED = "cli_sink_detached", "sink", "why"
    SIMULATED = "cli_simulated", "scenario", "seed"
    SOFTWARE = "cli_software"
    RECORDED = "cli_recorded"
    HOT_SPOT = "cli_hot_spot"
    FAN = "cli_fan"
    NO_SENSOR = "cli_no_sensor"
    NO_SHEET = "cli_no_sheet", "words"
    NOT_SIGNED = "cli_not_signed", "words"


class LargeWord(TermCode):
    """A verdict as it stands in large letters, by its own word; what stands over a simulated
    one.
    """

    PASS = "cli_large_pass"
    FAIL = "cli_large_fail"
    ABORTED = "cli_large_aborted"
    CONDITIONAL = "cli_large_conditional"
    NOT_MEASURED = "cli_large_not_measured"
    INCOMPLETE = "cli_large_incomplete"
    SIMULATED = "cli_large_simulated"


class ListTerm(TermCode):
    """Lines of `burnin cards`; figures are text as shown, ``?`` where nobody can say."""

    NO_CARD = "cli_no_card"
    LINK_NOW = "cli_link_now", "end"
    SLOT = "cli_slot", "end"
    SLOT_UNKNOWN = "cli_slot_unknown", "why"
    LINK_END = "cli_link_end", "lanes", "speed_gts", "most_lanes", "most_speed_gts"
    OUTPUTS = "cli_outputs", "outputs"
    OUTPUT = "cli_output", "output", "status"
    OUTPUT_UNKNOWN = "cli_output_unknown", "output", "why"
    OUTPUTS_UNKNOWN = "cli_outputs_unknown", "why"
    NO_OUTPUTS = "cli_no_outputs"
