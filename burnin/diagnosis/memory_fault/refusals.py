"""Why a board file cannot be used, as codes."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode


class BoardRefusal(ReasonCode):
    """What a board file holds; `words` are those of whoever read it."""

    NO_TOML = "refused_board_no_toml", "file", "words"
    FIELD = "refused_board_field", "file", "field", "words"
