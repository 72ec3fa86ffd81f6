"""One thing that hides something."""

from __future__ import annotations

from dataclasses import dataclass

from burnin.core.meaning import Term


@dataclass(frozen=True)
class Hindrance:
    """What it is, what it costs a run, how to mend it; `address` is empty for the bench's own."""

    what: Term
    costs: Term
    mend: Term
    address: str = ""
