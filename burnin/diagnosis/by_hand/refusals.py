"""Why what somebody typed to explain was not understood, as codes."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode


class ByHandRefusal(ReasonCode):
    """What was typed behind --seen, --after or --ticket-damage; `there` is what could have been."""

    SEEN_NOTHING = "refused_by_hand_seen_nothing"
    SEEN_BOTH = "refused_by_hand_seen_both"
    NO_LINK = "refused_by_hand_no_link", "text"
    SEEN_UNKNOWN = "refused_by_hand_seen_unknown", "text"
    AFTER_OUTPUT = "refused_by_hand_after_output", "text", "output"
    AFTER_POINT = "refused_by_hand_after_point", "text", "point"
    AFTER_CONTACT = "refused_by_hand_after_contact", "text", "contact"
    NO_OUTPUT = "refused_by_hand_no_output", "output", "there"
    NO_OUTPUTS = "refused_by_hand_no_outputs", "output"
    AFTER_WHICH_OUTPUT = "refused_by_hand_after_which_output", "text"
    AFTER_UNKNOWN = "refused_by_hand_after_unknown", "text"
    NO_DAMAGED_CONTACT = "refused_by_hand_no_damaged_contact", "text"
    TWO_SLOTS = "refused_by_hand_two_slots", "words"
