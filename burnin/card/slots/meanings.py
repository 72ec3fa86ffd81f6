"""What a slot's name can mean where there is none."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode


class SlotReason(ReasonCode):
    """Why nobody tells how a slot is called."""

    NO_NAME = "slots_no_name"
