"""What `burnin explain` is asked of: a record, a ticket, or what somebody saw."""

from __future__ import annotations

from pathlib import Path

from burnin.cli.terms import CliRefusal
from burnin.core.errors import BadInput
from burnin.diagnosis.by_hand.measured import after_of
from burnin.diagnosis.explain import explain_evidence, explain_records
from burnin.diagnosis.explanation import Explanation


def explained(
    what: str, results: Path, damaged: tuple[str, ...], after: str, seen: str
) -> Explanation:
    """The explanation of a record's folder, of a ticket's number, or of what was seen.

    Raises BadInput where it is none of them, or two; RecordError for a damaged record.
    """
    tried = after_of(after)
    if bool(what) == bool(seen):
        raise BadInput(CliRefusal.EXPLAIN_WHAT())
    if seen:
        from burnin.diagnosis.by_hand.seen import evidence_seen

        return explain_evidence(tried.added_to(evidence_seen(seen)), damaged)
    if _is_ticket(what, results):
        from burnin.ticket.log.store import read_ticket
        from burnin.ticket.told_to_explain import told_to_explain

        tells = told_to_explain(read_ticket(results, what))
        named = tuple(dict.fromkeys((*tells.damaged, *damaged)))
        return explain_records(tells.records, named, tells.after.and_then(tried))
    if not Path(what).exists():
        raise BadInput(CliRefusal.EXPLAIN_NEITHER(what=what, results=str(results)))
    return explain_records((Path(what),), damaged, tried)


def _is_ticket(what: str, results: Path) -> bool:
    """A folder that is there is a record; a number that a ticket has is that ticket."""
    from burnin.ticket.log.store import ticket_at, ticket_folder

    if Path(what).is_dir() and not Path(what).joinpath("ticket").is_dir():
        return False
    if len(Path(what).parts) != 1:
        return False
    return ticket_at(ticket_folder(results, what)) is not None
