"""What the work of all parts at once may mean."""

from __future__ import annotations

from burnin.core.meaning import NoteCode, ReasonCode, SourceCode, TermCode


class TogetherReason(ReasonCode):
    """Why something is wrong, or not measured. `part` is a `TogetherTerm`; `at_s` counts from when
    all began together, `phase_pct` from the beginning of a step of power.
    """

    WRONG_ALONE = "all_at_once_wrong_alone", "part", "wrong_count"
    WRONG_TOGETHER = "all_at_once_wrong_together", "part", "wrong_count", "at_s"
    WRONG_IN_STEPS = (
        "all_at_once_wrong_in_steps", "part", "wrong_count", "rate_hz", "at_s", "phase_pct"
    )  # fmt: skip
    UNFINISHED = "all_at_once_unfinished"
    NOTHING_DONE = "all_at_once_nothing_done", "part"
    NO_WHOLE_PASS = "all_at_once_no_whole_pass"
    NO_PASSED_RAMP = "all_at_once_no_passed_ramp"
    RAMP_TOO_LOW = "all_at_once_ramp_too_low", "reached_pct", "needed_pct"
    WRONG_BEFORE_STEPS = "all_at_once_wrong_before_steps"
    NO_POWER_TOLD = "all_at_once_no_power_told"


class TogetherTerm(TermCode):
    """The parts."""

    COMPUTE = "all_at_once_compute"
    MEMORY = "all_at_once_memory"
    LINK = "all_at_once_link"


class TogetherSource(SourceCode):
    """Where a value is from."""

    EVERY_RESULT = "all_at_once_every_result"
    BY_ENERGY = "all_at_once_by_energy", "seconds"
    BY_SAMPLES = "all_at_once_by_samples", "samples_count"
    OF_LIMIT = "all_at_once_of_limit", "power_w", "limit_w"
    BESIDE_ALONE = "all_at_once_beside_alone", "together", "alone", "unit"


class TogetherNote(NoteCode):
    """What the stage does."""

    ALL_WORK = "all_at_once_all_work"
    STEPS_BEGIN = "all_at_once_steps_begin", "rate_hz", "seconds"
