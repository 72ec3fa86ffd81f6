"""`burnin stick`: an image that starts any computer into the bench; built, read back, run."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from burnin.cli.exit import plain_errors
from burnin.cli.options import Language

stick_app = typer.Typer(
    help="The bench on a stick: any computer starts into it.", no_args_is_help=True
)


def mount(app: typer.Typer) -> None:
    """Add the commands around the stick."""
    app.add_typer(stick_app, name="stick")


@stick_app.command("build")
def build(
    image: Annotated[Path, typer.Argument(help="file of the image, which is not there yet")],
    tree: Annotated[Path, typer.Option(help="folder of the code")] = Path(),
    work: Annotated[
        Path, typer.Option(help="where what is made on the way lies, kept for the next build")
    ] = Path("stick-work"),
    processors: Annotated[int, typer.Option(help="cores that may be used", min=1)] = 1,
    records_mib: Annotated[
        int, typer.Option(help="size of the records partition, MiB", min=40, max=30_000)
    ] = 96,
    quick: Annotated[bool, typer.Option("--quick", help="larger, in less time")] = False,
    language: Language = "en",
) -> None:
    """Build the image on Debian 12, from Debian's packages and this code alone; needs root."""
    from burnin.cli.stick.building import build_told

    with plain_errors(language):
        build_told(
            image, tree.absolute(), work.absolute(), processors, records_mib, quick,
            typer.echo, language,
        )  # fmt: skip


@stick_app.command("verify")
def verify(
    device: Annotated[Path, typer.Argument(help="the stick, or a file of its image")],
    image: Annotated[
        Path | None, typer.Option(help="the image that was written to it, to compare with")
    ] = None,
    language: Language = "en",
) -> None:
    """Read a stick back: its root against its own hash, all that is fixed against the image.

    Exit code 1 where a byte differs.
    """
    from burnin.cli.stick.building import verify_told

    with plain_errors(language):
        code = verify_told(device, image, typer.echo, language)
    raise typer.Exit(code)


@stick_app.command("add")
def add(
    package: Annotated[Path, typer.Argument(help="file of a package of Debian, of firmware say")],
    records: Annotated[Path, typer.Argument(help="folder of the stick's records partition")],
    sha256: Annotated[str, typer.Option(help="what its makers publish; compared first")] = "",
    language: Language = "en",
) -> None:
    """Put a package onto the records partition; the next start compares its sum and takes it in."""
    from burnin.report.languages.catalogue import catalogue
    from burnin.stick.added import add_package

    with plain_errors(language):
        typer.echo(catalogue(language).say(add_package(package, records, sha256)))


@stick_app.command("desk", hidden=True)
def desk() -> None:
    """The stick's own screen, on the console that its service gives it."""
    from burnin.cli.stick.desk import at_desk
    from burnin.stick.places import places

    with plain_errors():
        at_desk(places(), typer.echo, input)


@stick_app.command("unattended", hidden=True)
def unattended() -> None:
    """What a file on the records partition asks for, without a hand."""
    from burnin.cli.stick.unattended import unattended as carry_out
    from burnin.stick.places import places

    with plain_errors():
        carry_out(places(), typer.echo)
