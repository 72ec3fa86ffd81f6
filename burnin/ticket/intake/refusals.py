"""Why what was taken down of a card or its repair was not kept, as codes."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode


class IntakeRefusal(ReasonCode):
    """What was typed, or a picture that was named; `there` is what could have been."""

    NO_CONTACT = "refused_intake_no_contact", "text"
    NO_RANGE = "refused_intake_no_range", "text"
    WHERE = "refused_intake_where", "text", "there"
    WHAT = "refused_intake_what", "text", "there"
    PICTURE_KEPT = "refused_intake_picture_kept", "file", "number"
    TOO_MANY_PIXELS = "refused_intake_too_many_pixels", "file", "width_px", "height_px"
    FAR_TOO_MANY_PIXELS = "refused_intake_far_too_many_pixels", "file"
    NO_PICTURE = "refused_intake_no_picture", "file", "kinds"
    WHAT_WAS_DONE = "refused_intake_what_was_done"
    DONE_ALREADY = "refused_intake_done_already", "what", "repair", "time_utc", "number"
    NO_PATCH = "refused_intake_no_patch", "text"
    NO_DAMAGE = "refused_intake_no_damage", "text"
    NO_LANGUAGE = "refused_intake_no_language", "text", "there"
    WHY_NO_REPAIR = "refused_intake_why_no_repair"
    NO_PHOTO = "refused_intake_no_photo", "file"
    NO_FIELD = "refused_intake_no_field", "text", "there"
