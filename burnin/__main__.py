"""`python -m burnin` and the command `burnin`."""

from __future__ import annotations

import sys


def main() -> None:
    """Run the command; ``--help`` alone is answered from a file, without loading anything.

    The file is what the commands themselves print; a test compares the two.
    """
    if sys.argv[1:] == ["--help"]:
        with open(f"{__file__.removesuffix('__main__.py')}cli/help.txt", encoding="utf-8") as text:  # noqa: PTH123 - pathlib costs more than the rest
            sys.stdout.write(text.read())
        return
    from burnin.cli.app import app
    from burnin.core.files.private_files import keep_files_private

    keep_files_private()
    app(prog_name="burnin")


if __name__ == "__main__":
    main()
