"""What a profile may owe, and why: the codes of its `[[owed]]` tables."""

from __future__ import annotations

from burnin.core.meaning import OwedCode, ReasonCode


class ProfileOwed(OwedCode):
    """Work that a profile cannot do by itself."""

    SOAK_WITH_LOOP = "soak_with_loop"
    SOAK_AT_RATED_POWER = "soak_at_rated_power"
    LINK_SOAK = "soak_of_link"
    FULL_LINK = "full_link_elsewhere"
    EVERY_OUTPUT = "every_output_with_monitor"
    COLD_STARTS = "starts_from_cold"


class ProfileReason(ReasonCode):
    """Why a profile cannot do it."""

    NO_LOOP_ON_BENCH = "no_loop_on_bench"
    NO_COOLER_FITTED = "no_cooler_fitted"
    SLOT_OFFERS_LESS = "slot_offers_less"
    NO_MONITOR_ON_BENCH = "no_monitor_on_bench"
    TAKES_TOO_LONG = "takes_longer_than_profile"
