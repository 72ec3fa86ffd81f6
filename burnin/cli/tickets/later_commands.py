"""Commands of a ticket after its first light: what waits, is overruled, noted, given up, closed."""

from __future__ import annotations

from typing import Annotated

import typer

from burnin.cli.exit import plain_errors
from burnin.cli.ticket_options import RESULTS, By, Number, Results
from burnin.cli.tickets.told import SHOWN, shown_words, tell_ticket, ticket_app


@ticket_app.command()
def defer(
    number: Number,
    stage: Annotated[str, typer.Argument(help="such as thermal_ramp or 6-thermal_ramp")],
    reason: Annotated[str, typer.Argument(help="why not now")],
    from_: Annotated[str, typer.Option("--from", help="2026-03-10, or a span such as 24h")] = "",
    by: By = "",
    results: Results = RESULTS,
) -> None:
    """Put a stage off, with the reason, and from when it may be done."""
    from burnin.cli.ticket_terms import TicketLine
    from burnin.ticket.log.store import read_ticket
    from burnin.ticket.put_off import put_off_and_tell

    with plain_errors(SHOWN.get()):
        after, before = put_off_and_tell(
            read_ticket(results, number), stage, reason, from_, by=by
        )
        if before is not None:
            told = TicketLine.PUT_OFF_BEFORE(
                stage=before.stage, by=before.by or "–", words=before.words
            )
            typer.echo(shown_words().say(told))
        tell_ticket(after)


@ticket_app.command()
def undefer(number: Number, stage: str, by: By = "", results: Results = RESULTS) -> None:
    """A stage that was put off may be done now."""
    from burnin.ticket.log.store import read_ticket
    from burnin.ticket.put_off import take_up_stage

    with plain_errors(SHOWN.get()):
        tell_ticket(take_up_stage(read_ticket(results, number), stage, by=by))


@ticket_app.command("replaced")
def replaced_(
    number: Number,
    what: Annotated[str, typer.Argument(help="firmware or board")],
    note: Annotated[str, typer.Option(help="which took its place, and why")] = "",
    by: By = "",
    results: Results = RESULTS,
) -> None:
    """Firmware or board was replaced: the next run takes the new one for the ticket's."""
    from burnin.ticket.bound_card.replaced import enter_replaced
    from burnin.ticket.log.store import read_ticket

    with plain_errors(SHOWN.get()):
        tell_ticket(enter_replaced(read_ticket(results, number), what, note, by=by))


@ticket_app.command("overrule")
def overrule_(
    number: Number,
    reason: Annotated[str, typer.Option(help="printed on the internal sheet")],
    by: By = "",
    results: Results = RESULTS,
) -> None:
    """Let power on in spite of a short, with a written reason."""
    from burnin.ticket.before_power.power_gate import overrule
    from burnin.ticket.log.store import read_ticket

    with plain_errors(SHOWN.get()):
        tell_ticket(overrule(read_ticket(results, number), reason, by=by))


@ticket_app.command()
def note(number: Number, text: str, by: By = "", results: Results = RESULTS) -> None:
    """Anything else worth a line."""
    from burnin.ticket.log.store import add, read_ticket

    with plain_errors(SHOWN.get()):
        tell_ticket(add(read_ticket(results, number), "noted", {"text": text}, by=by))


@ticket_app.command()
def nofix(number: Number, reason: str, by: By = "", results: Results = RESULTS) -> None:
    """The card cannot be repaired; the customer reads the reason."""
    from burnin.ticket.intake.taking_in import give_up
    from burnin.ticket.log.store import read_ticket

    with plain_errors(SHOWN.get()):
        tell_ticket(give_up(read_ticket(results, number), reason, by=by))


@ticket_app.command()
def close(number: Number, by: By = "", results: Results = RESULTS) -> None:
    """Close a ticket, whatever it owes; handover does so by itself where nothing is owed."""
    from burnin.ticket.log.store import add, read_ticket

    with plain_errors(SHOWN.get()):
        tell_ticket(add(read_ticket(results, number), "closed", {}, by=by))


@ticket_app.command()
def reopen(number: Number, by: By = "", results: Results = RESULTS) -> None:
    """Open a closed ticket again."""
    from burnin.ticket.log.store import add, read_ticket

    with plain_errors(SHOWN.get()):
        tell_ticket(add(read_ticket(results, number), "reopened", {}, by=by))
