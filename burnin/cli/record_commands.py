"""Commands that read a record: sheet, replay, explain, and the record's own format."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from burnin.cli.exit import plain_errors
from burnin.cli.options import Json, Language
from burnin.cli.ticket_options import RESULTS, Results

records_app = typer.Typer(help="What a run leaves behind.", no_args_is_help=True)


def mount(app: typer.Typer) -> None:
    """Add the commands that read records."""
    app.command()(sheet)
    app.command()(replay)
    app.command()(explain)
    app.command()(page)
    app.add_typer(records_app, name="records")


def sheet(
    record: Annotated[Path, typer.Argument(help="folder of a record")],
    language: Language = "en",
    as_json: Json = False,
) -> None:
    """Make plots and sheet of a record anew."""
    from burnin.cli.listing import make_sheet_again

    with plain_errors(language):
        make_sheet_again(record, language, as_json, typer.echo)


def replay(
    files: Annotated[list[str], typer.Argument(help="record folders, CSV files, or - ")],
    profile: Annotated[str, typer.Option("--profile", "-p", help="judge under this profile")] = "",
    plot: Annotated[
        Path | None, typer.Option(help="draw the one file into this .html or .svg")
    ] = None,
    language: Language = "en",
    as_json: Json = False,
) -> None:
    """Let the guards judge samples anew, row by row; events as JSON lines.

    A drawing shows temperature, power and limit, what was foreseen with 95 %, warnings and stops.
    """
    from burnin.cli.replay_lines import replay as judge_again
    from burnin.cli.replay_plot import draw_replay

    with plain_errors(language):
        code = judge_again(files, profile or None, as_json, sys.stdout, language=language)
        if plot is not None and not code:
            draw_replay(files, profile or None, plot, language)
    raise typer.Exit(code)


def page(
    record: Annotated[
        Path | None, typer.Argument(help="folder of a record; left out: always the newest")
    ] = None,
    results: Results = RESULTS,
    address: Annotated[
        str, typer.Option(help="address at which others may see it too, over TLS and with its key")
    ] = "127.0.0.1",
    port: Annotated[int, typer.Option(help="0: any that is free", min=0, max=65535)] = 8765,
    new_key: Annotated[
        bool, typer.Option("--new-key", help="make a new key: addresses given out are void")
    ] = False,
    language: Language = "en",
    as_json: Json = False,
) -> None:
    """Show the run under way in a browser, answer its prompts there, stop its load.

    All runs under way and a board of the open tickets are there too, and take photos for a ticket.
    On this computer alone unless an address is named. The page reads records; the run goes on
    whatever becomes of it.
    """
    from burnin.cli.terminal.serving_lines import serve_page

    with plain_errors(language):
        serve_page(record, results, address, port, new_key, language, as_json)


def explain(
    what: Annotated[str, typer.Argument(help="folder of a record, or a ticket's number")] = "",
    ticket_damage: Annotated[
        str, typer.Option(help="contacts known to be damaged or repaired, e.g. B82,A35")
    ] = "",
    after: Annotated[
        str, typer.Option(help="what was tried since: 'A25 open, DP-2 stays, supply_12v short'")
    ] = "",
    seen: Annotated[
        str, typer.Option(help="without a record, what was seen: 'x8 of x16', 'beeps 3'")
    ] = "",
    every: Annotated[
        bool, typer.Option("--all", help="every candidate, what speaks for and against it")
    ] = False,
    results: Results = RESULTS,
    language: Language = "en",
    as_json: Json = False,
) -> None:
    """What explains what failed, how surely, and what to do next to decide it.

    Of a ticket its runs since the card was last worked on, the damage and the values before power
    count together. Exit code 2 where a record was edited or damaged: what explains it may be made
    up.
    """
    import shutil

    from burnin.cli.explaining import explained
    from burnin.report.explanation import explanation_json, explanation_text
    from burnin.report.explanation_first import explanation_first
    from burnin.report.languages.catalogue import catalogue

    with plain_errors(language):
        damaged = tuple(part.strip() for part in ticket_damage.split(",") if part.strip())
        found = explained(what, results, damaged, after, seen)
        if as_json:
            typer.echo(explanation_json(found))
        elif every:
            typer.echo(explanation_text(found, language))
        else:
            columns = shutil.get_terminal_size((80, 24)).columns
            typer.echo(explanation_first(found, language, columns))
        for flaw in found.made_up:
            typer.echo(f"{what}: {catalogue(language).say(flaw)}", err=True)
    raise typer.Exit(2 if found.made_up else 0)


@records_app.command("schema")
def records_schema() -> None:
    """The JSON Schema of a record's files: run.json and the columns of each table."""
    from burnin.record.describe import record_schema

    typer.echo(record_schema())
