"""What a ticket comes to: the record's verdict, never made better, and what only a ticket knows."""

from __future__ import annotations

from enum import StrEnum

from burnin.core.meaning import Meaning
from burnin.core.reading import Verdict
from burnin.core.verdict import RunVerdict, VerdictReason
from burnin.record.reader import Record
from burnin.report.sheet.marks import RUN_SHAPES
from burnin.report.sheet.printed_verdict import printed_verdict
from burnin.report.sheet.run_stages import run_stages
from burnin.report.ticket.meanings import TicketSheetReason
from burnin.report.ticket.ticket_facts import TicketFacts


class TicketVerdict(StrEnum):
    """What is printed on a ticket's sheets, a run's verdicts first."""

    PASS = "pass"
    FAIL = "fail"
    ABORTED = "aborted"
    CONDITIONAL = "conditional"
    INCOMPLETE = "incomplete"
    UNTESTED = "untested"
    NO_FIX = "no_fix"


SHAPES = {
    **{TicketVerdict(verdict): shape for verdict, shape in RUN_SHAPES.items()},
    TicketVerdict.UNTESTED: "dotted",
    TicketVerdict.NO_FIX: "filled",
}
"""Shape of the frame round each verdict's word."""
BAD = (
    TicketVerdict.NO_FIX,
    TicketVerdict.UNTESTED,
    TicketVerdict.FAIL,
    TicketVerdict.ABORTED,
    TicketVerdict.INCOMPLETE,
)
"""Verdicts with which nobody should use the card."""


def verdict_of(ticket: TicketFacts, record: Record | None) -> tuple[TicketVerdict, Meaning | None]:
    """A ticket's verdict and its reason, never better than the record's."""
    if ticket.no_fix:
        return TicketVerdict.NO_FIX, TicketSheetReason.NOT_REPAIRED(words=ticket.no_fix)
    if record is None:
        return TicketVerdict.UNTESTED, None
    verdict, reason = printed_verdict(record, run_stages(record))
    if verdict not in (RunVerdict.PASS, RunVerdict.CONDITIONAL):
        return TicketVerdict(verdict), reason
    wrong = tuple(
        VerdictReason.READING_OPEN(reading=r.name, reason=r.reason)
        for r in ticket.before_power
        if r.verdict is Verdict.FAIL and r.required
    )
    why = (*ticket.failed, *wrong, *ticket.no_power)
    if why:
        return TicketVerdict.FAIL, TicketSheetReason.FAILED(why=why)
    return TicketVerdict.CONDITIONAL if ticket.owed else TicketVerdict(verdict), reason
