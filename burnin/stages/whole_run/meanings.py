"""What the closing part of a run may mean."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode, SourceCode, TermCode

_WHEN = ("at_s", "for_s", "stage", "conditions")


class WholeRunReason(ReasonCode):
    """What broke, when first (elapsed), for how long in all, in which stage, under what conditions.

    `stage` is a stage's title, `conditions` a tuple of `WholeRunTerm`, `slowdowns` of words.
    """

    GONE = "whole_run_gone", "times_count", *_WHEN
    WIDTH_FELL = "whole_run_width_fell", "lanes", "shown_lanes", *_WHEN
    SPEED_FELL = "whole_run_speed_fell", "speed_gts", "shown_gts", *_WHEN
    SLOWED = "whole_run_slowed", "slowdowns", *_WHEN
    CLOCK_FELL = "whole_run_clock_fell", "from_mhz", "to_mhz", "at_s", "stage", "conditions"
    POWER_DIFFERS = "whole_run_power_differs", "told_pct"
    COUNTER_STANDS = "whole_run_counter_stands", "told_j"
    ONE_SAMPLE = "whole_run_one_sample", "reason"
    ERRORS = "whole_run_errors", "errors_count", "rate", "risen"
    ERRORS_IN_TRAFFIC = (
        "whole_run_errors_in_traffic",
        "errors_count",
        "rate",
        "allowed_count",
        "risen",
    )
    UNCORRECTED = "whole_run_uncorrected", "risen"
    DRIVER_LEFT = "whole_run_driver_left", "driver"
    ERRORS_OPEN = "whole_run_errors_open", "errors_count", "risen"
    NOT_SEEN = "whole_run_not_seen"
    NOT_TO_THE_END = "whole_run_not_to_the_end", "at_s"
    NO_EVEN_LOAD = "whole_run_no_even_load"
    COUNTERS_LOST = "whole_run_counters_lost", "reasons"
    NO_COUNTERS = "whole_run_no_counters", "reason"


class WholeRunTerm(TermCode):
    """Under which conditions something broke."""

    LOAD = "whole_run_load", "load_pct"
    AT_REST = "whole_run_at_rest"
    POWER = "whole_run_power", "power_w"
    TEMPERATURE = "whole_run_temp", "gpu_temp_c"
    ONLY_WARMER = "whole_run_warmer", "gpu_temp_c"


class WholeRunSource(SourceCode):
    """What was looked at."""

    SAMPLES = "whole_run_samples", "samples_count", "from_s", "to_s"
    COUNTERS = "whole_run_counters", "counters_count"
