"""What is told around a prompt: kinds of answers, what is good, what comes of saying nothing."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode, TermCode


class AnswerReason(ReasonCode):
    """Why an answer was not taken; `typed` is what somebody typed, `possible` keys to press.

    `name` is what was asked for, `why` what was wrong with its answer.
    """

    NOT_UNDERSTOOD = "answer_not_understood", "typed", "possible"
    AT = "answer_at", "name", "why"
    NO_NUMBER = "answer_no_number", "typed"
    NO_COUNT = "answer_no_count", "typed"
    NOT_BETWEEN = "answer_not_between", "typed", "least", "most"


class KeyTerm(TermCode):
    """What may be typed."""

    YES = "answer_key_yes"
    NO = "answer_key_no"
    DONE = "answer_key_done"
    SKIP = "answer_key_skip"
    BACK = "answer_key_back"
    NONE = "answer_key_none"


class SaidTerm(TermCode):
    """A short answer as it is told afterwards."""

    YES = "answer_said_yes"
    NO = "answer_said_no"
    DONE = "answer_said_done"
    NONE = "answer_said_none"


class AnswerTerm(TermCode):
    """Kinds of answers, as they stand where one is typed; `unit` is that of a plain figure."""

    YES_NO = "answer_yes_no"
    YES_NO_NONE = "answer_yes_no_none"
    DONE = "answer_done"
    VALUE = "answer_value", "unit"
    COUNT = "answer_count"


class GoodTerm(TermCode):
    """What a good value looks like; limits are quantities with their unit."""

    QUANTITY = "answer_quantity", "value", "unit"
    AT_LEAST = "answer_good_at_least", "least"
    AT_LEAST_OR_OPEN = "answer_good_at_least_or_open", "least"
    AT_MOST = "answer_good_at_most", "most"
    BETWEEN = "answer_good_between", "least", "most"
    NO_LIMIT = "answer_good_no_limit"


class WithoutTerm(TermCode):
    """What comes of it where nothing is said, or Enter alone is pressed."""

    NOT_MEASURED = "answer_counts_not_measured"
    LEFT_OUT = "answer_counts_left_out"
    AS_NO = "answer_counts_as_no"
    LATER = "answer_counts_later"
    ASKED_AGAIN = "answer_counts_asked_again"


class FormTerm(TermCode):
    """The form of an answer, as a prompt carries it (`form.py`)."""

    FORM = (
        "answer_form", "answer", "good", "where", "silence", "enter", "number", "of_count", "back"
    )  # fmt: skip
