"""`burnin history`: the store of all runs, and its questions, one command each."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Annotated

import typer

from burnin.cli.exit import plain_errors
from burnin.cli.options import Json, Language
from burnin.cli.ticket_options import RESULTS, Results

history_app = typer.Typer(
    help="Every run the shop ever made, and what it wants to know of them.", no_args_is_help=True
)
_TARGET = "folder of the store, or a server's address; left out: as the shop file says"
Store = Annotated[str, typer.Option("--store", help=_TARGET)]
QUESTIONS = {
    "came-back": "What came back within N days, and after which repair.",
    "yield": "What passes at the first run, and after which repair.",
    "stages": "What each stage finds in a thousand runs, and in an hour of its work.",
    "drift": "Readings that drift on one bench.",
    "good": "How far known-good cards of a model lie apart.",
    "contacts": "Which contacts fail with which damage.",
    "life": "A card's whole life at the shop.",
    "outliers": "Values among passes that lie far from the others.",
    "owed": "What open tickets owe by when.",
    "doubts": "Of passes with a warning or a low margin, how many came back.",
}
"""Names of questions and their help; the questions themselves are asked for late."""


def mount(app: typer.Typer) -> None:
    """Add the commands of the history."""
    for name, told in QUESTIONS.items():
        history_app.command(name, help=told)(_command(name))
    app.add_typer(history_app, name="history")


@history_app.command("sync")
def sync(
    target: Annotated[str, typer.Argument(help=_TARGET)] = "",
    results: Results = RESULTS,
    language: Language = "en",
    as_json: Json = False,
) -> None:
    """Take in what is new of records and tickets; may be stopped anywhere and begun again."""
    from burnin.cli.history.taking_in import take_in

    with plain_errors(language):
        take_in(results, target, language, as_json=as_json)


@history_app.command("lay-out")
def lay_out(
    server: Annotated[str, typer.Argument(help="postgresql://OWNER@HOST/DATABASE")],
    language: Language = "en",
) -> None:
    """Make tables, roles and rights on the shop's PostgreSQL; once, by the database's owner."""
    from burnin.cli.history.on_server import lay_out_server

    with plain_errors(language):
        lay_out_server(server, language)


@history_app.command("verify")
def verify(
    server: Annotated[str, typer.Argument(help="left out: the one of the shop file")] = "",
    results: Results = RESULTS,
    language: Language = "en",
    as_json: Json = False,
) -> None:
    """Look whether any row on the shop's server was changed there; needs the right to read."""
    from burnin.cli.history.on_server import verify_server

    with plain_errors(language):
        verify_server(server, results, language, as_json=as_json)


def _command(name: str) -> Callable[..., None]:
    def command(
        by: Annotated[str, typer.Option("--by", help="parted by; a wrong one names all")] = "",
        days: Annotated[float, typer.Option(help="within how many days", min=1.0)] = 90.0,
        card: Annotated[str, typer.Option(help="serial number, UUID, or a ticket's number")] = "",
        simulated: Annotated[
            bool, typer.Option("--simulated", help="of the simulated machine, and of nothing else")
        ] = False,
        csv: Annotated[
            Path | None, typer.Option("--csv", help="write the rows into this file as well")
        ] = None,
        plot: Annotated[
            Path | None, typer.Option("--plot", help="draw it into this .svg, .png or .pdf")
        ] = None,
        store: Store = "",
        results: Results = RESULTS,
        language: Language = "en",
        as_json: Json = False,
    ) -> None:
        from burnin.cli.history.asking import Wanted, ask_and_show

        with plain_errors(language):
            wanted = Wanted(name, by, days, card, simulated, csv, plot)
            ask_and_show(wanted, results, store, language, as_json=as_json)

    return command
