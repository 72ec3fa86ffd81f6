"""The commands: parse, call, print. Heavy imports happen inside them, so that help is fast."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from burnin.cli.exit import plain_errors
from burnin.cli.ticket_commands import mount
from burnin.core.errors import BurninError

app = typer.Typer(
    name="burnin",
    help="Proves at the bench that a repaired graphics card works, and prints the sheet.",
    no_args_is_help=True,
    rich_markup_mode=None,
    add_completion=False,
    pretty_exceptions_enable=False,
)
profiles_app = typer.Typer(help="What a class of card must show.", no_args_is_help=True)
app.add_typer(profiles_app, name="profiles")

Json = Annotated[bool, typer.Option("--json", help="print JSON, for a machine to read")]
Results = Annotated[Path, typer.Option("--results", help="where records are kept")]


@app.command()
def run(
    profile: Annotated[
        str, typer.Option("--profile", "-p", help="name or file of a profile")
    ] = "",
    simulated: Annotated[
        str, typer.Option("--simulated", help="run on the simulated machine: scenario or file")
    ] = "",
    seed: Annotated[int, typer.Option(help="seed of the simulated machine", min=0)] = 1,
    pace: Annotated[
        float,
        typer.Option(help="simulated seconds a second; 0: as fast as it goes", min=0.0),
    ] = 0.0,
    card: Annotated[str, typer.Option(help="PCI address, where there are several cards")] = "",
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
    ticket: Annotated[str, typer.Option(help="ticket number; names the record's folder")] = "",
    customer: Annotated[str, typer.Option(help="customer, for the sheet")] = "",
    label: Annotated[str, typer.Option(help="the card in your words, for the sheet")] = "",
    technician: Annotated[str, typer.Option(help="who tests, for the sheet")] = "",
    shop: Annotated[str, typer.Option(help="shop, for the sheet")] = "",
    resume: Annotated[
        Path | None, typer.Option(help="record of an interrupted run to go on with")
    ] = None,
    results: Results = Path("results"),
    show_all: Annotated[
        bool, typer.Option("--all", help="show recorded values too, not only judged ones")
    ] = False,
    as_json: Json = False,
) -> None:
    """Carry out a profile on a card: stages, verdict, record, sheet.

    Exit code 0 pass, 1 fail, 2 wrong use or bad input, 3 ended by a guard, 4 conditional.
    """
    from burnin.cli.request import Wish
    from burnin.cli.session import run_profile
    from burnin.record.ticket_header import Ticket
    from burnin.run.bench import Options

    with plain_errors():
        wish = Wish(
            profile=profile,
            options=Options(simulated, seed, pace, card, engine, software_vulkan),
            ticket=Ticket(ticket, customer, label, technician, shop),
            left_out=frozenset(without or ()),
            monitors=monitors,
            unattended=unattended,
            resume=resume,
            results=results,
            show_all=show_all,
            as_json=as_json,
        )
        code = run_profile(wish)
    raise typer.Exit(code)


@app.command()
def cards(as_json: Json = False) -> None:
    """What graphics cards are in this bench, and how their links stand now."""
    from burnin.cli.listing import list_cards

    with plain_errors():
        code = list_cards(as_json, typer.echo)
    raise typer.Exit(code)


@app.command()
def sheet(
    record: Annotated[Path, typer.Argument(help="folder of a record")], as_json: Json = False
) -> None:
    """Make plots and sheet of a record anew."""
    from burnin.cli.listing import make_sheet_again

    with plain_errors():
        make_sheet_again(record, as_json, typer.echo)


@app.command()
def replay(
    files: Annotated[list[str], typer.Argument(help="record folders, CSV files, or - ")],
    profile: Annotated[
        str, typer.Option("--profile", "-p", help="judge under this profile")
    ] = "",
    as_json: Json = False,
) -> None:
    """Let the guards judge samples anew, row by row; events as JSON lines."""
    from burnin.replay.records import rejudge

    with plain_errors():
        code = rejudge(files, profile or None, as_json, sys.stdout)
    raise typer.Exit(code)


@app.command()
def explain(
    record: Annotated[Path, typer.Argument(help="folder of a record")],
    ticket_damage: Annotated[
        str, typer.Option(help="contacts known to be damaged or repaired, e.g. B82,A35")
    ] = "",
    as_json: Json = False,
) -> None:
    """Which contacts, or what else, explain a record; and what to measure next."""
    from burnin.diagnosis.explain import explain as explain_record

    with plain_errors():
        damaged = [part.strip() for part in ticket_damage.split(",") if part.strip()]
        typer.echo(explain_record(record, damaged, as_json))


@app.command()
def practise(
    seed: Annotated[int, typer.Option(help="which fault; the same number, the same fault")] = 1,
    measure: Annotated[
        str, typer.Option(help="contacts to put the meter on, e.g. B14,B15")
    ] = "",
    answer: Annotated[str, typer.Option(help="what you think it is")] = "",
    show: Annotated[bool, typer.Option("--show", help="show the cause")] = False,
) -> None:
    """Find an undisclosed fault of the simulated machine with the tool's own stages."""
    from burnin.sim.practise import exercise as practice
    from burnin.sim.practise.meter import meter_text

    with plain_errors():
        if measure:
            names = [part.strip() for part in measure.split(",") if part.strip()]
            typer.echo(meter_text(seed, names))
        elif answer:
            typer.echo(practice.judge_answer(seed, answer).text)
        elif show:
            typer.echo(practice.cause_text(seed))
        else:
            typer.echo(practice.task_text(seed))


@app.command()
def contacts(
    names: Annotated[
        list[str] | None, typer.Argument(help="contacts, e.g. B82 A35 8pin/4 hdmi/19")
    ] = None,
    lane: Annotated[int | None, typer.Option(help="all contacts of a lane, 0 to 15")] = None,
    group: Annotated[str, typer.Option(help="all of a group, e.g. presence, power")] = "",
    as_json: Json = False,
) -> None:
    """What contacts carry, what damage there does, which stage shows it, what to measure."""
    import shutil

    from burnin.connector.contact_text import tell_contacts

    with plain_errors():
        width = shutil.get_terminal_size((80, 24)).columns
        typer.echo(tell_contacts(names or [], lane, group or None, as_json, width))


@app.command()
def scenarios(
    causes: Annotated[
        bool, typer.Option("--causes", help="explain every kind of cause with its fields")
    ] = False,
    as_json: Json = False,
) -> None:
    """The simulated machine's scenarios, and the causes that a scenario may name."""
    from burnin.cli.listing import list_causes, list_scenarios

    with plain_errors():
        if causes:
            list_causes(as_json, typer.echo)
        else:
            list_scenarios(as_json, typer.echo)


@profiles_app.command("list")
def profiles_list(as_json: Json = False) -> None:
    """The profiles there are."""
    from burnin.cli.listing import list_profiles

    with plain_errors():
        list_profiles(as_json, typer.echo)


@profiles_app.command("check")
def profiles_check(
    files: Annotated[list[str], typer.Argument(help="names or files of profiles")],
) -> None:
    """Check profiles; every fault is named with file, field, value and what is allowed."""
    code = _each(files)
    raise typer.Exit(code)


def _each(files: list[str]) -> int:
    from burnin.profile.loader import load_profile

    code = 0
    for name in files:
        try:
            loaded = load_profile(name)
            typer.echo(f"{loaded.file}: good, {len(loaded.profile.stages)} stages")
        except BurninError as error:
            typer.echo(str(error), err=True)
            code = 2
    return code


@profiles_app.command("schema")
def profiles_schema() -> None:
    """The JSON Schema of the profile format, for editors."""
    from burnin.profile.loader import profile_schema

    typer.echo(profile_schema())


mount(app)
