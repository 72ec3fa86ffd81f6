"""What a comparison of records tells, as codes."""

from __future__ import annotations

from burnin.core.meaning import NoteCode, TermCode


class Basis(NoteCode):
    """What the judgement rests on: known-good records, how many readings, what chance does."""

    WITH_SPREAD = "ticket_compared_with_spread", "records_count"
    TOO_FEW = "ticket_compared_too_few", "records_count", "fewest_count"
    ONE_CARD = "ticket_compared_one_card"
    CHANCE = "ticket_compared_chance", "readings_count", "spread_count", "chance_count"
    COUNTED = "ticket_compared_counted", "readings_count"


class ComparedNote(NoteCode):
    """What keeps values from being weighed. `profile`, `card`, `engine` are this record's."""

    OTHER_PROFILE = "ticket_compared_other_profile", "profile", "other_profile"
    OTHER_MODEL = "ticket_compared_other_model", "card", "other_card"
    OTHER_ENGINE = "ticket_compared_other_engine", "engine", "other_engine"
    OTHER_MACHINE = "ticket_compared_other_machine"
    NOT_REACHED = "ticket_compared_not_reached", "stages"
    MADE_UP = "ticket_compared_made_up", "record", "flaws"


class Direction(TermCode):
    """Which way a value differs; `by` is the difference as it is shown."""

    WARMER = "ticket_compared_warmer", "by"
    COOLER = "ticket_compared_cooler", "by"
    FASTER = "ticket_compared_faster", "by"
    SLOWER = "ticket_compared_slower", "by"
    WIDER = "ticket_compared_wider", "by"
    NARROWER = "ticket_compared_narrower", "by"
    MORE = "ticket_compared_more", "by"
    LESS = "ticket_compared_less", "by"


class ComparedTerm(TermCode):
    """Parts of a sentence on one reading, beside one record or the median of several."""

    VALUES = "ticket_compared_values", "reading", "value", "other_value"
    SAME_POWER = "ticket_compared_same_power", "power"
    OTHER_POWER = "ticket_compared_other_power", "power", "other_power"
    FAR = "ticket_compared_far", "spreads"
    BEYOND_UNCERTAINTY = "ticket_compared_beyond_uncertainty"
    JUDGED = "ticket_compared_judged", "verdict", "other_verdict"
    LIKELY = "ticket_compared_likely", "percent", "cause"
    POINTS_TO = "ticket_compared_points_to", "cause"
    ALSO = "ticket_compared_also", "readings", "more_count"
