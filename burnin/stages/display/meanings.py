"""What the display check may mean."""

from __future__ import annotations

from burnin.core.meaning import NoteCode, PromptCode, ReasonCode, SourceCode


class DisplayReason(ReasonCode):
    """Why an output is not shown to work. `output` is a connector as the driver names it."""

    OUTPUTS_FOUND = "display_outputs_found", "found_count", "outputs", "expected_count"
    NO_OUTPUT_FOUND = "display_no_output_found", "expected_count"
    SCREEN_LOST = "display_screen_lost", "output", "times_count", "over_s"
    LOST_TOGETHER = "display_lost_together", "output", "times_count", "over_s", "outputs"
    OUTPUT_GONE = "display_output_gone", "output"
    WATCHED_TOO_SHORT = "display_watched_too_short", "watched_s", "asked_s"
    FORCED = "display_forced", "output", "state"
    EDID_SET = "display_edid_set", "output"
    NO_MONITOR = "display_no_monitor"
    NOT_DETECTED = "display_not_detected", "output"
    EDID_DAMAGED = "display_edid_damaged", "output", "problems"
    NO_PREFERRED_MODE = "display_no_preferred_mode"
    MODE_NOT_OFFERED = "display_mode_not_offered", "output", "preferred", "most"
    NO_MODE_OFFERED = "display_no_mode_offered", "output", "preferred"
    PICTURE_FLAWED = "display_picture_flawed", "output"
    NO_PICTURE = "display_no_picture", "output"


class DisplaySource(SourceCode):
    """Where the state of an output is from."""

    CONNECTORS = "display_connectors"
    STATUS = "display_status"
    STATUS_OVER = "display_status_over", "over_s"
    EDID_READ = "display_edid_read"
    MODES = "display_modes"
    EYE = "display_eye"


class DisplayPrompt(PromptCode):
    """What the technician is asked."""

    CONNECT_MONITOR = "display_connect_monitor", "output"
    PICTURE = "display_picture", "output"


class DisplayNote(NoteCode):
    """What the stage does now."""

    AT_OUTPUT = "display_at_output", "output"
