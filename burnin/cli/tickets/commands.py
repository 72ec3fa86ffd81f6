"""Commands of a ticket while a card is taken in, looked at and worked on."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Annotated

import typer

from burnin.cli import handover_commands as more
from burnin.cli.exit import plain_errors
from burnin.cli.ticket_options import RESULTS, By, Number, Results, Text
from burnin.cli.tickets.told import SHOWN, shown_words, tell_corrected, tell_ticket, ticket_app


def mount(app: typer.Typer) -> None:
    """Add the commands of tickets, measuring, handover and comparison to the tool's own."""
    # The order of help is that of a repair: these come last.
    importlib.import_module("burnin.cli.tickets.later_commands")
    app.add_typer(ticket_app, name="ticket")
    app.command()(more.tickets)
    # A value may begin with a minus sign, which a person reads back from a meter or this tool.
    app.command(context_settings={"ignore_unknown_options": True})(more.measure)
    app.command()(more.handover)
    app.command()(more.verify)
    app.command()(more.compare)
    app.command()(more.shop)


@ticket_app.command("open")
def open_(
    number: Number,
    customer: Text = "",
    reference: Annotated[str, typer.Option(help="the customer's own number")] = "",
    card: Annotated[str, typer.Option(help="the card in your words")] = "",
    serial: Text = "",
    fault: Annotated[str, typer.Option(help="what the customer says is wrong")] = "",
    accessories: Annotated[str, typer.Option(help="what came with it")] = "",
    promised: Annotated[str, typer.Option(help="day, such as 2026-03-10")] = "",
    expedited: Annotated[bool, typer.Option("--expedited")] = False,
    profile: Annotated[str, typer.Option("--profile", "-p", help="profile of this card")] = "",
    technician: Text = "",
    language: Annotated[str, typer.Option(help="of the customer's sheet: en, de")] = "",
    seen: Annotated[
        list[str] | None,
        typer.Option(help="damage, such as 'B14-B17 missing' or 'bracket bent'; repeatable"),
    ] = None,
    photo: Annotated[list[Path] | None, typer.Option(help="a picture; repeatable")] = None,
    simulated: Annotated[
        bool, typer.Option("--simulated", help="about the simulated machine, for practice")
    ] = False,
    by: By = "",
    results: Results = RESULTS,
) -> None:
    """Take a card in: who brought it, what is wrong, what is seen on it."""
    from burnin.cli.ticket_lines import taken_in_line
    from burnin.ticket.intake.taking_in import Intake, take_in

    with plain_errors(SHOWN.get()):
        fields = {
            "customer": customer,
            "reference": reference,
            "card": card,
            "serial": serial,
            "fault": fault,
            "accessories": accessories,
            "promised": promised,
            "profile": profile,
            "technician": technician,
            "language": language,
        }
        pictures = tuple(photo or ())
        intake = Intake(fields, expedited, tuple(seen or ()), pictures, simulated)
        there = take_in(results, number, intake, by=by)
        typer.echo(taken_in_line(there, shown_words()))
        tell_ticket(there)


@ticket_app.command()
def correct(
    number: Number,
    field: Annotated[list[str], typer.Argument(help="such as promised=2026-03-12")],
    by: By = "",
    results: Results = RESULTS,
) -> None:
    """Change what was taken down at intake; the former text stays in the log."""
    from burnin.ticket.intake.taking_in import correct as change
    from burnin.ticket.log.store import read_ticket

    with plain_errors(SHOWN.get()):
        tell_ticket(change(read_ticket(results, number), field, by=by))


@ticket_app.command()
def show(number: Number, results: Results = RESULTS) -> None:
    """Everything on a ticket, in order."""
    from burnin.cli.ticket_lines import whole_story
    from burnin.ticket.log.store import read_ticket

    with plain_errors(SHOWN.get()):
        ticket = read_ticket(results, number)
        for line in whole_story(ticket, shown_words()):
            typer.echo(line)
        tell_ticket(ticket)


@ticket_app.command("seen")
def seen_(
    number: Number,
    damage: Annotated[list[str], typer.Argument(help="such as 'B14-B17 missing'")],
    by: By = "",
    results: Results = RESULTS,
) -> None:
    """Note damage by contact or area."""
    from burnin.ticket.intake.taking_in import add_damage
    from burnin.ticket.log.store import read_ticket

    with plain_errors(SHOWN.get()):
        tell_ticket(add_damage(read_ticket(results, number), damage, by=by))


@ticket_app.command()
def photo(
    number: Number,
    files: Annotated[list[Path], typer.Argument(help="pictures")],
    note: Text = "",
    for_customer: Annotated[
        bool, typer.Option("--for-customer", help="print it on the customer's sheet too")
    ] = False,
    by: By = "",
    results: Results = RESULTS,
) -> None:
    """Keep pictures with the ticket."""
    from burnin.ticket.intake.photos import add_photo
    from burnin.ticket.log.store import read_ticket

    with plain_errors(SHOWN.get()):
        ticket = read_ticket(results, number)
        for file in files:
            ticket = add_photo(ticket, file, note=note, for_customer=for_customer, by=by)
        tell_ticket(ticket)


@ticket_app.command()
def repair(
    number: Number,
    did: Annotated[str, typer.Argument(help="what was done")],
    contacts: Annotated[str, typer.Option(help="such as B14-B17")] = "",
    bare: Annotated[
        list[str] | None, typer.Option(help="copper laid bare, by a word such as back; repeatable")
    ] = None,
    cure: Annotated[str, typer.Option(help="how long it must cure, such as '24 h'")] = "",
    again: Annotated[
        bool, typer.Option("--again", help="the same was done a second time")
    ] = False,
    by: By = "",
    results: Results = RESULTS,
) -> None:
    """Note what was done; what was proven before must be shown again."""
    from burnin.cli.ticket_lines import repair_line
    from burnin.ticket.intake.repairs import add_repair
    from burnin.ticket.log.store import read_ticket

    with plain_errors(SHOWN.get()):
        ticket = read_ticket(results, number)
        after = add_repair(
            ticket, did, contacts=contacts, patches=bare or (), cure=cure, again=again, by=by
        )
        typer.echo(repair_line(after, shown_words()))
        tell_ticket(after)


@ticket_app.command()
def cure(
    number: Number,
    span: Annotated[str, typer.Argument(help="such as '24 h', from when it was entered; none")],
    reason: Annotated[str, typer.Argument(help="what was wrong")],
    repair: Annotated[
        int | None, typer.Option("--repair", help="its number, where several are on the ticket")
    ] = None,
    by: By = "",
    results: Results = RESULTS,
) -> None:
    """Put a cure time right; the former one stays in the log."""
    from burnin.ticket.log.store import read_ticket
    from burnin.ticket.slips import correct_cure

    with plain_errors(SHOWN.get()):
        tell_corrected(correct_cure(read_ticket(results, number), span, reason, repair, by=by))


@ticket_app.command()
def takeback(
    number: Number,
    what: Annotated[str, typer.Argument(help="'repair 2', supply_12v or 'supply_12v 1.1'")],
    reason: Annotated[str, typer.Argument(help="what was wrong")],
    by: By = "",
    results: Results = RESULTS,
) -> None:
    """Take back a misread value, or a repair that was none; both stay in the log."""
    from burnin.ticket.log.store import read_ticket
    from burnin.ticket.slips import take_back

    with plain_errors(SHOWN.get()):
        tell_corrected(take_back(read_ticket(results, number), what, reason, by=by))


@ticket_app.command()
def light(
    number: Number,
    outputs: Annotated[str, typer.Option(help="outputs with a monitor, such as DP-1")] = "screen",
    answer: Annotated[
        list[str] | None, typer.Option(help="such as smoke=no beeps=1; asks nothing; repeatable")
    ] = None,
    by: By = "",
    results: Results = RESULTS,
) -> None:
    """First light: what is seen, heard and smelt when power is put on."""
    from burnin.cli.terminal.bench_prompts import ask_timed, telling
    from burnin.ticket.first_light.at_the_bench import first_light
    from burnin.ticket.log.store import read_ticket

    with plain_errors(SHOWN.get()):
        ticket = read_ticket(results, number)
        names = tuple(name.strip() for name in outputs.split(",") if name.strip())
        words = shown_words()
        ask, tell = ask_timed(words), telling(words)
        after = first_light(ticket, names, tuple(answer or ()), ask, tell, by=by)
        tell_ticket(after)
    if after.first_lights[-1].ended_at_once:
        raise typer.Exit(1)
