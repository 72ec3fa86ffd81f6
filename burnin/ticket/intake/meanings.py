"""What intake has names for."""

from __future__ import annotations

from burnin.core.meaning import TermCode


class RepairTerm(TermCode):
    """How far a repair has cured: `what` in somebody's own words, `done` and `whole` are spans."""

    CURED_FOR = "repair_cured_for", "what", "done", "whole"
