"""What the readers of a card can mean, and where they have values from."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode, SourceCode


class CardReason(ReasonCode):
    """Why a value of a card is not measured, as far as no single source knows better.

    `value` is the value's name, `sources` the names of the sources that were asked, `reasons` why
    they could not help with this card.
    """

    NOT_OFFERED = "card_value_not_offered", "value", "sources"
    NOT_OFFERED_BECAUSE = "card_value_not_offered_because", "value", "sources", "reasons"
    NO_ANSWER = "card_no_answer", "seconds"
    SEVERAL = "card_several_reasons", "reasons"
    SOURCE_RAISED = "card_source_raised", "source", "error", "words"
    SOURCE_KEPT_SILENT = "card_source_kept_silent", "source", "value"
    WRONG_KIND = "card_value_of_wrong_kind", "source", "value", "got"


class AttributeReason(ReasonCode):
    """Why the text of a small file is no value; `name` is the file's."""

    EMPTY = "attribute_empty", "name"
    NOT_A_NUMBER = "attribute_not_a_number", "name", "text"


class LinkWordsReason(ReasonCode):
    """Why what is told of a link's speed or width is none."""

    NO_RATE = "link_words_no_rate", "speed_gts"
    SPEED = "link_words_speed", "words"
    WIDTH = "link_words_width", "words"


class CardSource(SourceCode):
    """Where a value of a card is from when several sources had a part in it."""

    NOW_AND_AT_MOST = "card_source_now_and_at_most", "now", "at_most"
    NONE = "card_source_none"

