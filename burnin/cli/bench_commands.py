"""`burnin bench`: what known-good cards have shown in the slots of this bench."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from burnin.cli.exit import plain_errors
from burnin.cli.options import Json
from burnin.cli.ticket_options import RESULTS, By, Results, Shown

bench_app = typer.Typer(
    help="What known-good cards have shown in the slots of this bench.", no_args_is_help=True
)


def mount(app: typer.Typer) -> None:
    """Add the commands around the bench."""
    app.add_typer(bench_app, name="bench")


@bench_app.command("show")
def show(results: Results = RESULTS, as_json: Json = False, language: Shown = "en") -> None:
    """What each slot has shown, with which cards, declared by whom, and whether it still counts."""
    from burnin.cli.bench_lines import bench_json, bench_lines
    from burnin.report.languages.catalogue import catalogue
    from burnin.ticket.shop.proof_age import proof_age

    with plain_errors(language):
        words, age = catalogue(language), proof_age()
        if as_json:
            typer.echo(bench_json(results, age))
            return
        for line in bench_lines(results, age, words):
            typer.echo(line)


@bench_app.command("prove")
def prove(
    record: Annotated[Path, typer.Argument(help="record of a known-good card's run")],
    ambient: Annotated[
        float | None, typer.Option(help="air around the bench then, in °C", min=-20.0, max=60.0)
    ] = None,
    rail: Annotated[
        list[str] | None, typer.Option(help="a rail as measured, such as 12V=12.08; repeatable")
    ] = None,
    cable: Annotated[
        list[str] | None, typer.Option(help="cable at an output, such as DP-1=blue; repeatable")
    ] = None,
    by: By = "",
    results: Results = RESULTS,
    language: Shown = "en",
) -> None:
    """Declare the card of a run known-good: what it reached is what its slot has shown."""
    from burnin.cli.bench_lines import declare_known_good, proven_line, refused_lines
    from burnin.report.languages.catalogue import catalogue
    from burnin.ticket.log.store import who

    with plain_errors(language):
        words = catalogue(language)
        found = declare_known_good(
            results, record, by or who(), ambient_c=ambient, rails=rail or (), cables=cable or ()
        )
        if found.refused:
            for line in refused_lines(record, found.refused, words):
                typer.echo(line, err=True)
            raise typer.Exit(2)
        typer.echo(proven_line(found, words))


@bench_app.command("forget")
def forget(
    slot: Annotated[str, typer.Argument(help="PCI address of the slot's port, as shown")],
    bench: Annotated[str, typer.Option(help="which bench; left out: this one")] = "",
    by: By = "",
    results: Results = RESULTS,
    language: Shown = "en",
) -> None:
    """What was proven of a slot counts no more, such as after a change of the bench."""
    from burnin.cli.bench_lines import forget_slot, forgotten_line
    from burnin.report.languages.catalogue import catalogue
    from burnin.ticket.log.store import who

    with plain_errors(language):
        gone = forget_slot(results, slot, bench, by or who())
        typer.echo(forgotten_line(gone, catalogue(language)))
