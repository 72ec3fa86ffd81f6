"""Standard output, where nobody reads it any more."""

from __future__ import annotations

import os
import sys


def quiet_output() -> None:
    """Standard output leads nowhere: let nothing that is still written end the run."""
    sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: PTH123, SIM115 - for good
