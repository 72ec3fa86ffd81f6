"""Contacts that bench talk often calls by a wrong function, put right kindly."""

from __future__ import annotations

_SLOT_PRESENCE = (
    "This is how the slot learns that a card is in it. It has nothing to do with a screen: a"
    " monitor is noticed at the display connector itself (dp/18, hdmi/19)."
)
_SCREEN_PRESENCE = (
    "This is how one output learns that a screen is there. It is not the presence detect of the"
    " slot (A1 and B17, B31, B48, B81), and no contact of the edge carries it."
)
_LAST_PAIR = (
    "The last contacts are often taken for a presence or hot-plug contact. B82 is reserved and left"
    " unconnected, A82 is ground; the presence contact is B81, tied to A1."
)

COMMON_MISTAKES: dict[str, str] = {
    **dict.fromkeys(("A1", "B17", "B31", "B48", "B81"), _SLOT_PRESENCE),
    **dict.fromkeys(("B82", "A82"), _LAST_PAIR),
    **dict.fromkeys(("dp/18", "hdmi/19"), _SCREEN_PRESENCE),
    **dict.fromkeys(
        ("usbc/A5", "usbc/B5"),
        "A USB-C socket has no hot-plug contact: that state travels as a message here. Nor is it"
        " the presence detect of the slot.",
    ),
    "12v2x6/S2": (
        "It tells the supply that its plug is in. What the card may draw is told by S3 and S4, and"
        " the slot's presence detect is A1 with B81."
    ),
    "B12": "Older lists call B12 reserved; it has since become CLKREQ#.",
    "B30": "Older lists call B30 reserved; it has since become PWRBRK#.",
    **dict.fromkeys(
        ("A16", "B14"),
        "PER and PET are named from the board: PET (side B) is what the board transmits and the"
        " card receives, PER (side A) what the card transmits.",
    ),
}
