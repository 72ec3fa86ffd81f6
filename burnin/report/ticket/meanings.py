"""What the sheets of a ticket say by themselves."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode


class TicketSheetReason(ReasonCode):
    """Why a ticket's verdict is what it is; `words` are the technician's, `why` are reasons."""

    NOT_REPAIRED = "ticket_sheet_not_repaired", "words"
    FAILED = "ticket_sheet_failed", "why"
