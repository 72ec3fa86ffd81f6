"""What measuring under load may mean."""

from __future__ import annotations

from burnin.core.meaning import NoteCode, PromptCode, ReasonCode, SourceCode, TermCode


class UnderLoadReason(ReasonCode):
    """Why a point failed or was not measured.

    `held_w` is the mean power while somebody measured, `asked_w` what was to be held; `ohm` what a
    contact resists if the whole power came through it, so that it is no less. `told_w` is what a
    sensor told all the while. `text` is what was typed, `example` what a good answer looks like.
    """

    DROPS = "under_load_drops", "drop_v", "most_v", "power_w", "ohm"
    DROPS_UNTOLD = "under_load_drops_untold", "drop_v", "most_v"
    TOO_WARM = "under_load_too_warm", "temp_c", "most_c"
    NOT_TWELVE = "under_load_not_twelve", "supply_v", "least_v", "most_v"
    NOT_CLEAN = "under_load_not_clean"
    POWER_NOT_HELD = "under_load_power_not_held", "held_w", "asked_w"
    POWER_UNREAD = "under_load_power_unread", "asked_w"
    POWER_WENT_SILENT = "under_load_power_went_silent", "silent_s", "asked_w"
    POWER_STOOD = "under_load_power_stood", "told_w", "asked_w"
    TOO_SOON = "under_load_too_soon", "stood_s", "least_s"
    NOTHING_READ = "under_load_nothing_read", "drop_v", "uncertainty_v"
    TOO_COLD = "under_load_too_cold", "temp_c", "least_c"
    OVER_THE_RANGE = "under_load_over_the_range", "text", "example"
    NO_SUPPLY = "under_load_no_supply", "text", "least_v", "example"
    NO_SCREEN = "under_load_no_screen"
    NO_ANSWER_AT_ALL = "under_load_no_answer_at_all"
    OWN_LIMIT_UNKNOWN = "under_load_own_limit_unknown", "reason"
    NOT_REACHED = "under_load_not_reached", "reason"
    ENDED_BEFORE = "under_load_ended_before"


class UnderLoadTerm(TermCode):
    """By what was measured."""

    METER = "under_load_meter"
    PROBE = "under_load_probe"
    CAMERA = "under_load_camera"
    EYE = "under_load_eye"


class UnderLoadSource(SourceCode):
    """Where a value is from; `power_w` was held meanwhile, None where nobody can say."""

    TYPED = "under_load_typed", "by", "power_w"
    TYPED_POWER_UNTOLD = "under_load_typed_power_untold", "by"


class UnderLoadNote(NoteCode):
    """What is put on record."""

    CAUTION = "under_load_caution"
    HELD = "under_load_held", "power_w"
    SETTLING = "under_load_settling", "power_w"
    MEASURING = "under_load_measuring", "title"


class UnderLoadPrompt(PromptCode):
    """What the technician is asked; `title` is the profile's, `place` joint or plug."""

    ACROSS = "under_load_ask_across", "title", "place", "plug"
    SUPPLY = "under_load_ask_supply", "title", "plug"
    TEMPERATURE = "under_load_ask_temperature", "title", "place", "plug", "by"
    PICTURE = "under_load_ask_picture", "title"
