"""Which open readings tell of parties all the same, though nothing failed."""

from __future__ import annotations

NAMED_WHEN_UNSURE = frozenset({"memory_clock_share", "whole_run_power_of_counter"})
"""Readings that are unsure by rule, never failed, whose parties are told all the same."""

NAMED_WHEN_OPEN = frozenset(
    {
        *("link_rate_on_the_way", "file_no_answer_from_card", "file_garbled_answer"),
        "whole_run_counter_stands",
    }
)
"""Reasons for which a reading is left open, and whose parties are told: by code of the reason, or
of what it names as its own reason."""
