"""Why what was typed is no contact, lane or mark, as codes."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode, TermCode


class ContactRefusal(ReasonCode):
    """What was typed; `near` is the nearest that there is, `there` all that there are."""

    NO_GROUP = "refused_contact_no_group", "text", "near", "there"
    NO_GROUP_LIKE = "refused_contact_no_group_like", "text", "there"
    NO_LANE = "refused_contact_no_lane", "lane", "last", "near"
    NOT_OF_EDGE = "refused_contact_not_of_edge", "name"
    NO_MARK = "refused_contact_no_mark", "name", "mark", "there"
    NO_SIDE = "refused_contact_no_side", "text", "near"
    NO_NUMBER = "refused_contact_no_number", "text", "side", "last", "near"
    TURNED = "refused_contact_turned", "text", "near"
    NO_LABEL = "refused_contact_no_label", "text", "connector", "spans", "near"
    NO_CONTACT = "refused_contact_no_contact", "text", "last", "there"
    NO_CONTACT_NEAR = "refused_contact_no_contact_near", "text", "last", "there", "near"
    NOTHING_NAMED = "refused_contact_nothing_named", "last", "there"


class SpanTerm(TermCode):
    """Contacts of a connector that follow each other."""

    SPAN = "contact_span", "first", "last"
