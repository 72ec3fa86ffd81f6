"""What the desk can mean: why it refused, and what it notes of itself."""

from __future__ import annotations

from burnin.core.meaning import NoteCode, ReasonCode


class DeskReason(ReasonCode):
    """Why the desk did not do what it was asked; `words` are the operating system's own."""

    NOT_OPEN = "desk_not_open", "number"
    ANSWER_EMPTY = "desk_answer_empty"
    ANSWER_TOO_LONG = "desk_answer_too_long", "most_count"
    NOT_UNDERSTOOD = "desk_not_understood"
    NOBODY_LISTENS = "desk_nobody_listens"
    NOT_ALLOWED = "desk_not_allowed"
    NO_REPLY = "desk_no_reply", "words"


class DeskNote(NoteCode):
    """What the run writes into its journal of the desk."""

    NOT_OPENED = "desk_not_opened", "words"
    STOP_ASKED = "desk_stop_asked"
