"""What intake has names for."""

from __future__ import annotations

from burnin.core.meaning import TermCode


class RepairTerm(TermCode):
    """How far a repair has cured: `what` in somebody's own words, `done` and `whole` are spans.

    CLOCK_…: what was wrong with the bench's clock meanwhile, `by` how long a span.
    """

    CURED_FOR = "repair_cured_for", "what", "done", "whole"
    CLOCK_SET_ON = "repair_clock_set_on", "by"
    CLOCK_SET_BACK = "repair_clock_set_back", "by"
    CLOCK_LAGS = "repair_clock_lags", "by"
