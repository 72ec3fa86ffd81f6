"""`python -m burnin` and the command `burnin`."""

from __future__ import annotations

import os
import sys

_ONE_THREAD = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
"""Linear algebra on small tables: a second thread costs more than it saves, and a bench's processor
belongs to the card under test."""


def main() -> None:
    """Run the command; ``--help`` alone is answered from a file, without loading anything.

    The file is what the commands themselves print; a test compares the two.
    """
    if sys.argv[1:] == ["--help"]:
        with open(f"{__file__.removesuffix('__main__.py')}cli/help.txt", encoding="utf-8") as text:  # noqa: PTH123 - pathlib costs more than the rest
            sys.stdout.write(text.read())
        return
    for name in _ONE_THREAD:
        os.environ.setdefault(name, "1")
    from burnin.cli.app import app
    from burnin.core.files.private_files import keep_files_private

    keep_files_private()
    app(prog_name="burnin")


if __name__ == "__main__":
    main()
