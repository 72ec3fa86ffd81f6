"""Why cards are not burnt in together, or not as they were named, as codes."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode, TermCode


class BatchRefusal(ReasonCode):
    """What was typed for several cards; `there` are the addresses that there are."""

    EVERY_AND_NAMED = "refused_batch_every_and_named"
    TWO_TICKETS = "refused_batch_two_tickets", "ticket", "address", "other"
    CARD_TWICE = "refused_batch_card_twice", "addresses"
    NO_CARD_AT = "refused_batch_no_card_at", "addresses", "there"
    GONE = "refused_batch_gone", "addresses"
    TICKET_TWICE = "refused_batch_ticket_twice", "numbers"
    NO_PROFILE = "refused_batch_no_profile", "card", "ids"
    SEVERAL_TICKETS = "refused_batch_several_tickets", "numbers"
    NO_CARD = "refused_batch_no_card"
    OWN_PROFILES = "refused_batch_own_profiles"
    RESUME_ONE = "refused_batch_resume_one"
    SOFTWARE = "refused_batch_software"
    ONE_TICKET = "refused_batch_one_ticket"
    ONE_LABEL = "refused_batch_one_label"
    KEEPERS_OWN = "refused_batch_keepers_own"


class BatchTerm(TermCode):
    """What stands in the place of what there is not."""

    NO_ADDRESS = "batch_no_address"
    THIS_CARD = "batch_this_card"
