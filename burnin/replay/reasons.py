"""Why a row of a recording cannot be used; where a record does not say what follows from it."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode


class ReplayReason(ReasonCode):
    """What is wrong with a row; `column` is its name in the header, `cell` what stands there."""

    COLUMN_ABSENT = "replay_column_absent"
    CELL_MISSING = "replay_cell_missing", "column", "cells_count"
    NOT_A_NUMBER = "replay_not_a_number", "column", "cell"
    NOT_FINITE = "replay_not_finite", "column", "cell"
    TIME_RUNS_BACK = "replay_time_runs_back", "time_s", "last_s"
    TIME_ABSURD = "replay_time_absurd", "time_s"
    POWER_ABSURD = "replay_power_absurd", "power_w"
    TEMPERATURE_ABSURD = "replay_temperature_absurd", "column", "temp_c"


class Disagreement(ReasonCode):
    """What a record says and what follows from its own data: `told` is not `follows`."""

    READING = "replay_reading_disagrees", "stage", "reading", "told", "follows"
    STAGE = "replay_stage_disagrees", "stage", "told", "follows"
    RUN = "replay_run_disagrees", "told", "follows"
    OWED_BY_PROFILE = "replay_profile_owes", "owed_count"


class ReplayRefusal(ReasonCode):
    """Why a recording cannot be replayed; `line` counts from 1."""

    NO_GUARDS = "refused_replay_no_guards", "folder"
    NO_HEADER = "refused_replay_no_header", "file", "needed"
    COLUMN_TWICE = "refused_replay_column_twice", "file", "line", "column"
    COLUMN_MISSING = "refused_replay_column_missing", "file", "line", "missing", "header"
    LINE_TOO_LONG = "refused_replay_line_too_long", "file", "line"
    NO_SAMPLES = "refused_replay_no_samples", "file", "line", "count"
    NO_TEXT = "refused_replay_no_text", "file", "line", "words"
    HEAD = "refused_replay_head", "file", "line", "key", "text", "why"
    TEMPERATURE = "refused_replay_temperature", "least", "most"
    YES_OR_NO = "refused_replay_yes_or_no"
    ONE_OF = "refused_replay_one_of", "there"
    NO_PLAN = "refused_replay_no_plan"
    PLAN_BACKWARDS = "refused_replay_plan_backwards"
    PLAN_POWER = "refused_replay_plan_power"
    PLAN_TOO_LONG = "refused_replay_plan_too_long", "most_count"
    NO_NUMBER = "refused_replay_no_number"
