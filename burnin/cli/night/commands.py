"""`burnin night`: a queue of cards burnt in while nobody is there."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from burnin.cli.exit import plain_errors
from burnin.cli.options import Language, Results, known_profiles, known_scenarios


def mount(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(night)


def night(
    file: Annotated[Path, typer.Argument(help="the queue: hours, and cards or tickets in order")],
    profile: Annotated[
        str,
        typer.Option(
            "--profile", "-p", help="for cards that nothing else names one for",
            autocompletion=known_profiles,
        ),
    ] = "",
    simulated: Annotated[
        str,
        typer.Option(
            "--simulated", help="on the simulated machine: scenario or file",
            autocompletion=known_scenarios,
        ),
    ] = "",
    seed: Annotated[int, typer.Option(help="seed of the simulated machine", min=0)] = 1,
    pace: Annotated[
        float, typer.Option(help="simulated seconds a second; 0: as fast as it goes", min=0.0)
    ] = 0.0,
    results: Results = Path("results"),
    language: Language = "en",
) -> None:
    """Burn in a queue of cards, batch after batch; in the morning each has its word.

    Nobody is asked anything. After a cut the same command goes on. Exit code of the worst card.
    """
    from burnin.cli.night.session import run_night
    from burnin.cli.request import Wish
    from burnin.core.ticket_header import Ticket
    from burnin.run.bench import Options

    with plain_errors(language):
        wish = Wish(
            profile=profile,
            options=Options(simulated, seed, pace),
            ticket=Ticket(),
            left_out=frozenset(),
            monitors="",
            unattended=not simulated,
            resume=None,
            results=results,
            show_all=False,
            as_json=False,
            language=language,
        )
        code = run_night(wish, file)
    raise typer.Exit(code)
