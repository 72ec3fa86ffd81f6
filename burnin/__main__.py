"""`python -m burnin` and the command `burnin`."""

from __future__ import annotations


def main() -> None:
    """Run the command; errors that a person can mend end in a sentence and exit code 2."""
    from burnin.cli import app

    app()


if __name__ == "__main__":
    main()
