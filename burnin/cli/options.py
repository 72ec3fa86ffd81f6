"""Options that several commands have."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Json = Annotated[bool, typer.Option("--json", help="print JSON, for a machine to read")]
Results = Annotated[Path, typer.Option("--results", help="where records are kept")]
Language = Annotated[
    str, typer.Option("--language", help="of what is shown, and of the sheet: en, de")
]
