"""Why a card waits for leave to be loaded, why it never gets it, and what of that is noted."""

from __future__ import annotations

from burnin.core.meaning import NoteCode, ReasonCode, TermCode


class LeaveTerm(TermCode):
    """By what the power of a card at work is bounded while nobody measures it."""

    BY_OWN_LIMIT = "leave_by_own_limit"
    BY_STAGE = "leave_by_stage"
    BY_SHOP = "leave_by_shop"


class LeaveReason(ReasonCode):
    """Why leave is waited for, or never given.

    `free_w`: what is left of `budget_w` now; `most_w`: what would be left with every other card at
    rest. `address`: another card, `port` the port whose link both use.
    """

    WATTS_TAKEN = "leave_watts_taken", "needed_w", "free_w", "budget_w"
    STEP_TAKEN = "leave_step_taken", "step_w", "free_w_per_s"
    BEHIND = "leave_behind", "address"
    LINK_TAKEN = "leave_link_taken", "address", "port"
    WAY_UNKNOWN = "leave_way_unknown", "address"
    KEEPER_SILENT = "leave_keeper_silent"
    NEVER_WATTS = "leave_never_watts", "needed_w", "most_w", "budget_w"
    NEVER_STEP = "leave_never_step", "step_w", "most_w_per_s"
    NEVER_KNOWN = "leave_never_known"
    KEEPER_GONE = "leave_keeper_gone"


class LeaveNote(NoteCode):
    """What a run notes of it."""

    WAITS = "leave_waits", "reason"
    GIVEN = "leave_given", "needed_w", "bounded_by", "waited_s"
    NO_BUDGET = "leave_no_budget"
