"""What the terminal says of its own: lines around what the run says, and what it refuses."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode, TermCode


class ScreenTerm(TermCode):
    """Lines of the screen; `what` and `why` are meanings, `watts` a list as it is shown."""

    CARD = "cli_card"
    CARD_AT = "cli_card_at", "card", "address"
    PROFILE = "cli_profile"
    PROFILE_GOOD = "cli_profile_good", "file", "stages_count"
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


class CliRefusal(ReasonCode):
    """What was typed that cannot be carried out; `there` is what could have been."""

    ASK_OR_UNATTENDED = "refused_cli_ask_or_unattended"
    NOBODY_DECLARES = "refused_cli_nobody_declares"
    CABLE_UNSEEN = "refused_cli_cable_unseen", "output", "there"
    NO_SLOT = "refused_cli_no_slot", "port"
    SEVERAL_BENCHES = "refused_cli_several_benches", "port", "benches"
    NO_PAIR = "refused_cli_no_pair", "text"
    NO_VOLTAGE = "refused_cli_no_voltage", "text"
    NO_RAIL_VOLTAGE = "refused_cli_no_rail_voltage", "text", "most_v"
    EXPLAIN_WHAT = "refused_cli_explain_what"
    EXPLAIN_NEITHER = "refused_cli_explain_neither", "what", "results"
    VERIFY_WHAT = "refused_cli_verify_what"
    PLOT_ONE = "refused_cli_plot_one"
    NO_SUCH_STAGES = "refused_cli_no_such_stages", "stages", "there"
    WHICH_PROFILE = "refused_cli_which_profile", "there"
    NOTHING_OWED = "refused_cli_nothing_owed", "number"
    RESUMED_OTHERWISE = "refused_cli_resumed_otherwise", "option", "then", "now"
    NO_CARD_KEPT = "refused_cli_no_card_kept", "absent", "decide", "folder"
    NOBODY_AT_TERMINAL = "refused_cli_nobody_at_terminal"
    CARD_REFUSED = "refused_cli_card_refused", "address", "why"
    CARDS_REFUSED = "refused_cli_cards_refused", "cards"
    QUEUED_TWICE = "refused_cli_queued_twice", "address"
    NIGHT_HELD = "refused_cli_night_held", "results"
    TICKETS_PROFILE = "refused_cli_tickets_profile", "number", "why"
    NOW_NEEDS_REASON = "refused_cli_now_needs_reason", "least_count"
