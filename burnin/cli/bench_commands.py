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
    app.command("record-bench")(record_bench)


def record_bench(
    folder: Annotated[Path, typer.Argument(help="a new or empty folder")],
    language: Shown = "en",
) -> None:
    """Copy what this bench's files answer, serial numbers replaced, for `--simulated FOLDER`.

    For a card that is read wrong: whoever gets the folder reads the same.
    """
    from burnin.card.files import HostFiles
    from burnin.card.merge import open_bench
    from burnin.card.recording.copying import record_bench as copy
    from burnin.cli.bench_terms import BenchLine
    from burnin.report.languages.catalogue import catalogue

    with plain_errors(language):
        cards = open_bench(HostFiles(), this_machine=True).cards()
        count = copy(folder, cards)
        line = BenchLine.RECORDED(files_count=count, cards_count=len(cards), folder=str(folder))
        typer.echo(catalogue(language).say(line))


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


@bench_app.command("check")
def check(
    simulated: Annotated[
        str, typer.Option("--simulated", help="of the simulated machine: scenario or file")
    ] = "",
    as_json: Json = False,
    language: Shown = "en",
) -> None:
    """What of this bench's set-up hides something from a run, what that costs, how to mend it.

    Exit code 0: nothing was found; 4: something was.
    """
    from burnin.cli.hindrance_lines import check_bench

    with plain_errors(language):
        code = check_bench(as_json, typer.echo, simulated=simulated, language=language)
    raise typer.Exit(code)


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
