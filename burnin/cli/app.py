"""The command `burnin`: the main job, and where the other commands are.

Commands parse, call and print. Heavy imports happen inside them, so that help is fast.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from burnin.cli import (
    bench_commands,
    record_commands,
    reference_commands,
)
from burnin.cli.exit import plain_errors
from burnin.cli.history import commands as history_commands
from burnin.cli.night import commands as night_commands
from burnin.cli.options import Json, Language, Results, known_profiles, known_scenarios
from burnin.cli.packages import commands as package_commands
from burnin.cli.stick import commands as stick_commands
from burnin.cli.terminal.own_language import ORIGINAL, own_language, shown_in
from burnin.cli.tickets.commands import mount as mount_tickets

app = typer.Typer(
    name="burnin",
    help="Proves at the bench that a repaired graphics card works, and prints the sheet.",
    no_args_is_help=True,
    rich_markup_mode=None,
    add_completion=True,
    pretty_exceptions_enable=False,
)


def _tell_version(asked: bool) -> None:
    if asked:
        from importlib.metadata import version

        typer.echo(f"burnin {version('burnin')}")
        raise typer.Exit


@app.callback()
def version(
    context: typer.Context,
    _: Annotated[
        bool,
        typer.Option("--version", is_eager=True, callback=_tell_version, help="print the version"),
    ] = False,
) -> None:
    """What every command has."""
    code = own_language()
    if code != ORIGINAL:
        context.default_map = shown_in(context.command, code)


@app.command()
def run(
    profile: Annotated[
        str,
        typer.Option(
            "--profile", "-p", help="name or file of a profile", autocompletion=known_profiles
        ),
    ] = "",
    simulated: Annotated[
        str,
        typer.Option(
            "--simulated", help="run on the simulated machine: scenario or file",
            autocompletion=known_scenarios,
        ),
    ] = "",
    seed: Annotated[int, typer.Option(help="seed of the simulated machine", min=0)] = 1,
    pace: Annotated[
        float,
        typer.Option(help="simulated seconds a second; 0: as fast as it goes", min=0.0),
    ] = 0.0,
    card: Annotated[
        list[str] | None,
        typer.Option(
            metavar="ADDRESS[=TICKET]",
            help="PCI address, where there are several cards; given several times: these together",
        ),
    ] = None,
    every_card: Annotated[
        bool, typer.Option("--every-card", help="every card of the bench, all of them together")
    ] = False,
    engine: Annotated[str, typer.Option(help="vulkan or cuda; left out: the best at hand")] = "",
    software_vulkan: Annotated[
        bool,
        typer.Option(
            "--software-vulkan",
            help="no card: memory and compute on this computer's own processor",
        ),
    ] = False,
    without: Annotated[
        list[str] | None, typer.Option(help="a stage to leave out; may be repeated")
    ] = None,
    monitors: Annotated[
        str, typer.Option(help="outputs with a monitor, e.g. DP-1,HDMI-A-1; or: all")
    ] = "",
    unattended: Annotated[
        bool, typer.Option("--unattended", help="ask nothing: prompts become 'not measured'")
    ] = False,
    ask: Annotated[
        bool,
        typer.Option(
            "--ask",
            help="let prompts lie open on the page where no terminal is, and on the simulated"
            " machine too",
        ),
    ] = False,
    ticket: Annotated[str, typer.Option(help="ticket number; names the record's folder")] = "",
    customer: Annotated[str, typer.Option(help="customer, for the sheet")] = "",
    label: Annotated[str, typer.Option(help="the card in your words, for the sheet")] = "",
    technician: Annotated[str, typer.Option(help="who tests, for the sheet")] = "",
    shop: Annotated[str, typer.Option(help="shop, for the sheet")] = "",
    now: Annotated[
        str,
        typer.Option(
            "--now",
            metavar="REASON",
            help="carry out what waits (a cure time, a missing loop) all the same, and why",
        ),
    ] = "",
    no_loop: Annotated[
        bool, typer.Option("--no-loop", help="a water block without its loop: spare it")
    ] = False,
    supply_w: Annotated[
        float, typer.Option("--supply-w", help="most that the supply gives the card, W", min=0.0)
    ] = 0.0,
    resume: Annotated[
        Path | None,
        typer.Option(help="record of an interrupted run, or file of a batch, to go on with"),
    ] = None,
    results: Results = Path("results"),
    show_all: Annotated[
        bool, typer.Option("--all", help="show recorded values too, not only judged ones")
    ] = False,
    language: Language = "en",
    as_json: Json = False,
    batch_socket: Annotated[int, typer.Option("--batch-socket", hidden=True)] = -1,
) -> None:
    """Carry out a profile on a card: stages, verdict, record, sheet.

    Exit code 0 pass, 1 fail, 2 wrong use or bad input, 3 ended by a guard, 4 conditional; of
    several cards that of the worst: fail, no word (2), ended by a guard, conditional, pass.
    """
    from burnin.cli.batch.refusals import BatchRefusal
    from burnin.cli.batch.which import run_wish
    from burnin.cli.request import Wish
    from burnin.cli.terms import CliRefusal
    from burnin.core.errors import BadInput
    from burnin.core.ticket_header import Ticket
    from burnin.run.bench import Options

    with plain_errors(language):
        if ask and unattended:
            raise BadInput(CliRefusal.ASK_OR_UNATTENDED())
        several = every_card or len(card or ()) > 1
        one, _, its_ticket = ("" if several or not card else card[0]).partition("=")
        if ticket and its_ticket and ticket != its_ticket:
            told = BatchRefusal.TWO_TICKETS(ticket=ticket, address=one, other=its_ticket)
            raise BadInput(told)
        wish = Wish(
            profile=profile,
            options=Options(simulated, seed, pace, one, engine, software_vulkan),
            ticket=Ticket(ticket or its_ticket, customer, label, technician, shop),
            left_out=frozenset(without or ()),
            monitors=monitors,
            unattended=unattended,
            resume=resume,
            results=results,
            show_all=show_all,
            as_json=as_json,
            language=language,
            now=now,
            no_loop=no_loop,
            supply_w=supply_w,
            ask=ask,
            batch_socket=batch_socket,
        )
        code = run_wish(wish, card or (), every_card=every_card)
    raise typer.Exit(code)


night_commands.mount(app)
reference_commands.mount_bench(app)
record_commands.mount(app)
reference_commands.mount(app)
mount_tickets(app)
bench_commands.mount(app)
history_commands.mount(app)
package_commands.mount(app)
stick_commands.mount(app)
