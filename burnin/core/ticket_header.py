"""The ticket: whose card it is and who works on it, as far as a run needs to know."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass


@dataclass(frozen=True)
class Ticket:
    """What a record and its sheet say of the repair; every field may be empty."""

    number: str = ""
    customer: str = ""
    card_label: str = ""
    technician: str = ""
    shop: str = ""


def folder_name(number: str) -> str:
    """A ticket number as a folder name that cannot leave its parent, at most 60 characters.

    Letters, digits, dot, dash and underscore stay; all else becomes a dash. Raises ValueError
    when nothing is left.
    """
    text = unicodedata.normalize("NFKC", number)
    safe = re.sub(r"[^\w.-]+", "-", text).strip("-.")[:60].rstrip("-.")
    if not safe:
        raise ValueError(f"ticket number {number!r} holds no letter and no digit")
    return safe
