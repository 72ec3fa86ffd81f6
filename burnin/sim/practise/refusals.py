"""Why an answer to an exercise, or its name, was not taken, as codes."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode


class PractiseRefusal(ReasonCode):
    """What was typed; `there` is what could have been."""

    NAMES_NOTHING = "refused_practise_names_nothing", "text", "there"
    NO_NUMBER = "refused_practise_no_number", "text", "word"
    NO_CONTACT = "refused_practise_no_contact", "text"
