"""What is said of a bench: why it is not proven, why a record proves nothing, what it showed."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode, SourceCode, TermCode


class ProvenReason(ReasonCode):
    """Why nothing is known of a slot that counts.

    `port` is the PCI address of the port above the slot; `age_days`, `days_count` and
    `starts_since`, `starts_count`: how old the newest proof is, and how old it may be.
    """

    NEVER = "bench_never_proven", "port"
    FORGOTTEN = "bench_forgotten", "port", "forgotten_utc"
    TOO_OLD = "bench_proof_too_old", "port", "age_days", "days_count"
    TOO_MANY_STARTS = "bench_proof_too_many_starts", "port", "starts_since", "starts_count"
    IN_THE_FUTURE = "bench_proof_in_the_future", "port", "proven_utc"
    PORT_UNKNOWN = "bench_port_unknown"
    BENCH_UNKNOWN = "bench_identity_unknown"
    LOG_UNREADABLE = "bench_log_unreadable", "words"
    NO_CARD = "bench_without_card"
    SCENARIO_UNPROVEN = "bench_scenario_unproven", "scenario"


class ProofReason(ReasonCode):
    """Why a record proves nothing of a bench; `reasons` and `flaws` are reasons of others."""

    SIMULATED = "bench_proof_simulated"
    SOFTWARE = "bench_proof_software"
    NOT_WHOLE = "bench_proof_not_whole", "flaws"
    NO_CHECKSUMS = "bench_proof_no_checksums"
    NOT_AT_ITS_END = "bench_proof_not_at_its_end"
    RUN_NOT_GOOD = "bench_proof_run_not_good", "verdict"
    VERDICT_DOES_NOT_FOLLOW = "bench_proof_verdict_does_not_follow", "reasons"
    NO_LINK_STAGE = "bench_proof_no_link_stage"
    LINK_NOT_PASSED = "bench_proof_link_not_passed", "stage", "readings"
    SLOT_UNTOLD = "bench_proof_slot_untold"
    FROM_THE_FUTURE = "bench_proof_from_the_future", "started_utc"
    ALREADY = "bench_proof_already", "run_id"


class SisterReason(ReasonCode):
    """In what a card is unlike others of its model on record; `run` is the newest of them.

    `reading` names what was compared, `value` is this card's, `their_value` the others' median.
    """

    UNLIKE_DECLARED = (
        "sister_unlike_declared", "reading", "value", "their_value", "runs_count", "run"
    )
    UNLIKE_PASSED = "sister_unlike_passed", "reading", "value", "their_value", "runs_count", "run"


class SisterSource(SourceCode):
    """Which cards of the same model a card was compared with."""

    DECLARED = "sister_declared", "runs_count", "run"
    PASSED = "sister_passed", "runs_count", "run"


class ShownTerm(TermCode):
    """What a bench has shown, for screen and sheet; None stands for what nobody saw."""

    PROVEN = (
        "bench_shown",
        "port",
        "proven_utc",
        "by",
        "card",
        "carried",
        "age_days",
        "days_count",
        "starts_since",
        "starts_count",
    )
    SIMULATED = "bench_shown_simulated", "carried"
    NOT_PROVEN = "bench_not_proven", "why"
    CARRIED = "bench_carried", "width_lanes", "speed_gts"
    CARRIED_UNTOLD = "bench_carried_untold"
    WIDTH_LIMIT = "bench_width_limit", "lanes"
    SPEED_LIMIT = "bench_speed_limit", "speed_gts"
    ERROR_RATE = "bench_error_rate", "bound"
    COPIES = "bench_copies", "to_card_gbs", "to_host_gbs"
    AMBIENT = "bench_ambient", "ambient_c"
    SUPPLIED = "bench_supplied", "power_w"
    COOLED = "bench_cooled", "power_w"
    RAIL = "bench_rail", "rail", "voltage_v"
    OUTPUT = "bench_output", "output", "monitor"
    OUTPUT_CABLE = "bench_output_cable", "output", "monitor", "cable"
