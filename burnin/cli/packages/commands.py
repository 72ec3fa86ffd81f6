"""`burnin packages`: what this installation is made of, under which licences, and whether it is so.

Nothing is asked of any network.
"""

from __future__ import annotations

from typing import Annotated

import typer

from burnin.cli.exit import plain_errors
from burnin.cli.options import Json, Language

packages_app = typer.Typer(
    help="The packages that this installation is made of.", no_args_is_help=True
)


def mount(app: typer.Typer) -> None:
    """Add the commands that look at the installation."""
    app.add_typer(packages_app, name="packages")


@packages_app.command("list")
def packages_list(language: Language = "en", as_json: Json = False) -> None:
    """Every package with its version and licence, and what it is there for."""
    from burnin.cli.packages.lines import list_packages

    with plain_errors(language):
        code = list_packages(as_json, typer.echo, language)
    raise typer.Exit(code)


@packages_app.command("check")
def packages_check(
    lock: Annotated[
        list[str] | None,
        typer.Option(help="run, build, or an extra; may be repeated; left out: all of them"),
    ] = None,
    language: Language = "en",
    as_json: Json = False,
) -> None:
    """Compare with the locks: versions, files, licences; what cannot be known offline is said.

    Exit code 1 where something differs.
    """
    from burnin.cli.packages.lines import check_packages

    with plain_errors(language):
        code = check_packages(lock or (), as_json, typer.echo, language)
    raise typer.Exit(code)


@packages_app.command("bill")
def packages_bill(
    everything: Annotated[
        bool, typer.Option("--all", help="also what is there for tests, or for nothing")
    ] = False,
) -> None:
    """The bill of materials, CycloneDX 1.6 as JSON."""
    from burnin.cli.packages.lines import print_bill

    with plain_errors():
        code = print_bill(everything, typer.echo)
    raise typer.Exit(code)
