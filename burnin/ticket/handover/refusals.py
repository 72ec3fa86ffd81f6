"""Why a handover cannot be made, signed or checked, as codes."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode


class HandoverRefusal(ReasonCode):
    """What was asked for; `there` is what could have been."""

    NO_FINGERPRINT = "refused_handover_no_fingerprint", "text"
    A_HUNDRED = "refused_handover_a_hundred", "folder"
    CLOSED = "refused_handover_closed", "number", "closed_utc"
    CHANGED_MEANWHILE = "refused_handover_changed_meanwhile", "number", "event", "by"
    KEY_CHANGED = "refused_handover_key_changed", "number"
    RUN_GOES_ON = "refused_handover_run_goes_on", "number", "run"
    NO_PAPER = "refused_handover_no_paper", "text"
    NO_LANGUAGE = "refused_handover_no_language", "text", "there"
    NOT_THERE = "refused_handover_not_there", "path"
    NO_SUMS = "refused_handover_no_sums", "folder", "file", "name"
    GIVE_FOLDER = "refused_handover_give_folder", "path"
