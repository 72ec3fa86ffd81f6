"""A console that a closed pipe does not end: the run and its record go on."""

from __future__ import annotations

import os
import sys

from rich.console import Console


class PatientConsole(Console):
    """Falls silent where nobody reads any more, instead of ending the program."""

    def on_broken_pipe(self) -> None:
        """Let all that is still written lead nowhere."""
        self.quiet = True
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
