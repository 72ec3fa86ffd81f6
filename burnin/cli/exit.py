"""How a command ends where a person can mend what is wrong."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import typer

from burnin.core.errors import BurninError


@contextmanager
def plain_errors() -> Iterator[None]:
    """What a person can mend is told in a sentence, with exit code 2 and no traceback."""
    try:
        yield
    except BurninError as error:
        typer.echo(str(error), err=True)
        raise typer.Exit(2) from error
    except BrokenPipeError:
        raise
    except OSError as error:
        where = f"{error.filename}: " if error.filename else ""
        typer.echo(f"{where}{error.strerror or error}", err=True)
        raise typer.Exit(2) from error
