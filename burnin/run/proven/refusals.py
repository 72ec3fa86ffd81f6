"""Why a proof of a bench cannot be kept, found or read, as codes."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode


class ProvenRefusal(ReasonCode):
    """A run that proves a slot already, a slot of which nothing is proven, a proof that is none."""

    ALREADY = "refused_proven_already", "run_id"
    NO_BOUNDS = "refused_proven_no_bounds"
    WRONG_FIELD = "refused_proven_wrong_field", "field"
    NOT_OURS = "refused_proven_not_ours", "words"
    NOTHING = "refused_proven_nothing", "port"
