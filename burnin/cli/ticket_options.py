"""Options that the commands around a ticket share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Number = Annotated[str, typer.Argument(help="ticket number")]
Results = Annotated[Path, typer.Option("--results", help="where tickets and records are kept")]
By = Annotated[str, typer.Option("--by", help="who; left out: BURNIN_TECHNICIAN or the account")]
Shown = Annotated[str, typer.Option("--language", help="of what is shown here: en, de")]
Text = Annotated[str, typer.Option()]
RESULTS = Path("results")
