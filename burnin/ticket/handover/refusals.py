"""Why a handover cannot be made, signed or checked, as codes."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode


class HandoverRefusal(ReasonCode):
    """What was asked for; `there` is what could have been."""

    NO_FINGERPRINT = "refused_handover_no_fingerprint", "text"
    A_HUNDRED = "refused_handover_a_hundred", "folder"
    CLOSED = "refused_handover_closed", "number", "closed_utc"
    NO_PAPER = "refused_handover_no_paper", "text"
    NO_LANGUAGE = "refused_handover_no_language", "text", "there"
    NOT_THERE = "refused_handover_not_there", "path"
    NO_SUMS = "refused_handover_no_sums", "folder", "file", "name"
    GIVE_FOLDER = "refused_handover_give_folder", "path"
