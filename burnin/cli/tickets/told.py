"""Commands of a ticket have one language, and each ends in what is owed and the next step."""

from __future__ import annotations

from contextvars import ContextVar
from typing import TYPE_CHECKING

import typer

from burnin.cli.ticket_options import Shown

if TYPE_CHECKING:
    from burnin.report.languages.catalogue import Catalogue
    from burnin.ticket.log.whole_ticket import WholeTicket

SHOWN = ContextVar("shown", default="en")
"""The language that the ticket's commands show; asked for once, before the command."""
ticket_app = typer.Typer(help="One repair, from intake to handover.", no_args_is_help=True)


@ticket_app.callback()
def in_language(language: Shown = "en") -> None:
    """One repair, from intake to handover."""
    SHOWN.set(language)


def tell_ticket(ticket: WholeTicket) -> None:
    """What the ticket owes, and the next step."""
    from burnin.cli.ticket_lines import step_lines

    for line in step_lines(ticket, shown_words()):
        typer.echo(line)


def tell_corrected(ticket: WholeTicket) -> None:
    """The last correction, then as above."""
    from burnin.cli.ticket_lines import correction_line

    typer.echo(correction_line(ticket, shown_words()))
    tell_ticket(ticket)


def shown_words() -> Catalogue:
    """The words of the language that the ticket's commands were asked to show."""
    from burnin.report.languages.catalogue import catalogue

    return catalogue(SHOWN.get())
