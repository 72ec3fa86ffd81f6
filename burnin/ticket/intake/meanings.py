"""What intake has names for."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode, TermCode


class RepairTerm(TermCode):
    """How far a repair has cured: `what` in somebody's own words, `done` and `whole` are spans.

    CLOCK_…: what was wrong with the bench's clock meanwhile, `by` how long a span.
    """

    CURED_FOR = "repair_cured_for", "what", "done", "whole"
    CLOCK_SET_ON = "repair_clock_set_on", "by"
    CLOCK_SET_BACK = "repair_clock_set_back", "by"
    CLOCK_LAGS = "repair_clock_lags", "by"


class PhotoReason(ReasonCode):
    """Why a picture is not taken into a ticket; `file` is what it is called where it came from."""

    NOT_READ = "photo_not_read", "file", "words"
    NO_PICTURE = "photo_no_picture", "file"
    TOO_MANY_PIXELS = "photo_too_many_pixels", "file", "width_px", "height_px"
    FAR_TOO_MANY_PIXELS = "photo_far_too_many_pixels", "file"
    THERE_ALREADY = "photo_there_already", "file", "number"
