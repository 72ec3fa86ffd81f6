"""What a sheet says of a record by itself, where the record does not say it."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode, TermCode


class SheetReason(ReasonCode):
    """Why a stage is not done, why the verdict is not better, why there is no value.

    `against` is a tuple of `Objection`s.
    """

    NEVER_STARTED = "sheet_never_started"
    NOT_FINISHED = "sheet_not_finished"
    STOPPED_BY_HAND = "sheet_stopped_by_hand"
    NEVER_CLOSED = "sheet_never_closed"
    SAYS_PASS_BUT = "sheet_says_pass_but", "against"
    SAYS_MORE_THAN_FOLLOWS = "sheet_says_more_than_follows", "told", "against"
    NONE_GIVEN = "sheet_none_given"
    NO_VALUE_IN_SAMPLES = "sheet_no_value_in_samples"
    GUARD_ENDED_LOAD = "sheet_guard_ended_load"


class Objection(ReasonCode):
    """What in a record speaks against printing PASS over it.

    `files` are names, `flaws` reasons of the reader, `stages` titles.
    """

    ALTERED = "objection_altered", "files"
    DAMAGED = "objection_damaged", "flaws"
    DISAGREES = "objection_disagrees", "flaws"
    NO_CARD = "objection_no_card"
    NO_PASS = "objection_no_pass"
    NOT_PASSED = "objection_not_passed", "readings_count"
    STAGES_NOT_PASSED = "objection_stages_not_passed", "stages"
    OWED = "objection_owed"
    GUARD_ENDED_LOAD = "objection_guard_ended_load"
    MEMORY_WRONG = "objection_memory_wrong"


class OpenSort(TermCode):
    """Sorts of what a run did not show, most pressing first."""

    OWED = "open_owed"
    STAGES = "open_stages"
    TOO_NEAR = "open_too_near"
    NOT_MEASURED = "open_not_measured"
    NOT_INSISTED = "open_not_insisted"
    SILENT = "open_silent"
    NO_STAGE = "open_no_stage"


class UntestedTerm(TermCode):
    """Parts of a card that no stage of the tool works, and what stands there in their place."""

    SOUND = "untested_sound"
    PICTURE = "untested_picture"
    VIDEO_UNITS = "untested_video_units"
    RAY_TRACING = "untested_ray_tracing"
    LIGHTS = "untested_lights"
    OTHER_SOCKETS = "untested_other_sockets"
    WHY = "untested_why"


class Banner(TermCode):
    """What must stand over everything: whatever is not a real card at work."""

    SIMULATED = "banner_simulated"
    SOFTWARE_ENGINE = "banner_software_engine"


class SimulatedTerm(TermCode):
    """What a sheet of a simulated run says in place of a card's verdict; `word` is that verdict."""

    WORD = "simulated_word", "word"
    SENTENCE = "simulated_sentence"
