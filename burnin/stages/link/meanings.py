"""What the link check may mean."""

from __future__ import annotations

from burnin.core.meaning import NoteCode, ReasonCode, SourceCode


class LinkReason(ReasonCode):
    """Why the link is not right, or not shown to be.

    `risen` is a tuple of `StagesReason.COUNTER_ROSE`, `lanes` one of LANE_AT_CARD and LANE_AT_PORT,
    `beside` addresses of ports; `told` is what the port says of itself, None where it does not;
    `rate` and `bound` are errors a bit, `bits` is a count.
    """

    NARROW = "link_narrow", "lanes", "expected_lanes"
    SLOW = "link_slow", "speed_gts", "expected_gts"
    SPEED_NEEDS_TRAFFIC = "link_speed_needs_traffic", "reason"
    TRAFFIC_TOO_SHORT = "link_traffic_too_short"
    MOST_UNKNOWN = "link_most_unknown", "reasons"
    LANES_OF_CARD = "link_lanes_of_card", "expected_lanes", "offered_lanes"
    LANES_OF_SLOT = "link_lanes_of_slot", "expected_lanes", "offered_lanes"
    SPEED_OF_CARD = "link_speed_of_card", "expected_gts", "offered_gts"
    SPEED_OF_SLOT = "link_speed_of_slot", "expected_gts", "offered_gts"
    LANES_SHARED = "link_lanes_shared", "expected_lanes", "offered_lanes", "beside"
    LANES_SLOT_GAVE = "link_lanes_slot_gave", "expected_lanes", "offered_lanes", "told_lanes"
    SPEED_HELD = "link_speed_held", "expected_gts", "held_gts", "told_gts"
    SPEED_SLOT_GAVE = "link_speed_slot_gave", "expected_gts", "offered_gts", "told_gts"
    NOT_SHOWN_HERE = "link_not_shown_here", "missing"
    NEITHER_SHOWN_HERE = "link_neither_shown_here", "lanes", "speed"
    LANE_STATUS_UNREAD = "link_lane_status_unread", "reasons"
    LANE_AT_CARD = "link_lane_at_card", "lane"
    LANE_AT_PORT = "link_lane_at_port", "lane"
    LANES_ROSE = "link_lanes_rose", "lanes"
    ERRORS_NEED_TRAFFIC = "link_errors_need_traffic", "reason"
    NO_COUNTER_TWICE = "link_no_counter_twice"
    UNCORRECTED = "link_uncorrected", "risen"
    NEW_ERRORS = "link_new_errors", "errors_count", "risen"
    NEW_ERRORS_UNPROVEN = (
        "link_new_errors_unproven",
        "errors_count",
        "risen",
        "rate",
        "allowed_count",
    )
    MORE_THAN_RATE = (
        "link_more_than_rate",
        "errors_count",
        "lower_count",
        "allowed_count",
        "rate",
        "risen",
    )
    BESIDE_THE_WIRE = "link_beside_the_wire", "risen"
    LANES_UNCOUNTED = "link_lanes_uncounted", "lanes"
    WIDTH_UNKNOWN = "link_width_unknown"
    RATE_REFUTED = "link_rate_refuted", "errors_count", "bits", "rate"
    RATE_OPEN = "link_rate_open", "traffic_s", "bound"
    RATE_OPEN_NOTHING_MOVED = "link_rate_open_nothing_moved", "traffic_s"
    NOTHING_MOVED = "link_nothing_moved"
    NO_RESULT = "link_no_result"
    WRONG_WORDS = "link_wrong_words", "words_count"
    RATE_ON_THE_WAY = "link_rate_on_the_way", "port", "way_gbs", "link_gbs"
    FASTER_THAN_IT_CAN = "link_faster_than_it_can", "rate_gbs", "limit_gbs", "lanes"
    CARRIES_LESS = "link_carries_less", "rate_gbs", "limit_gbs", "speed_gts", "lanes"


class LinkSource(SourceCode):
    """How the link was looked at."""

    COUNTERS = "link_counter_differences", "counters_count"
    NO_SIGN = (
        "link_no_sign",
        "counters_count",
        "bits",
        "rate",
        "allowed_count",
        "upper_count",
    )
    LANE_STATUS = "link_lane_status"
    RATE_BOUND = "link_rate_bound", "errors_count", "bits", "lanes", "traffic_s"
    MEAN_BOUND = "link_mean_bound"
    WORDS_COMPARED = "link_words_compared"
    PAYLOAD_LIMIT = "link_payload_limit", "limit_gbs"
    PAYLOAD_LIMIT_ON_THE_WAY = "link_payload_limit_on_the_way", "limit_gbs", "port"
    PORT_TARGET = "link_port_target"


class LinkNote(NoteCode):
    """What is put on record, and what the stage does now.

    END: what one end offers, what it showed idle, every value under traffic, and its sticky bits
    before and after; None stands for what could not be read. COUNTERS: increases under traffic.
    POSITION: bridges between the slot's port and the processor, ports that may divide its lanes,
    devices that share a bridge's link.
    """

    BOTH_ENDS = "link_both_ends", "card", "port"
    END = (
        "link_end",
        "max_width_lanes",
        "max_speed_gts",
        "width_idle_lanes",
        "speed_idle_gts",
        "widths_seen_lanes",
        "speeds_seen_gts",
        "lane_errors_before",
        "lane_errors_after",
        "bandwidth_managed_before",
        "bandwidth_managed_after",
        "bandwidth_autonomous_after",
        "target_speed_gts",
    )
    POSITION = "link_position", "port", "bridges", "beside", "behind_bridge"
    BRIDGE = "link_bridge", "port", "width_lanes", "speed_gts"
    COUNTERS = "link_counters", "errors"
    COUNTER = "link_counter", "counter", "increase"
    COUNTERS_UNUSABLE = "link_counters_unusable", "reasons"
    RATE_TAKES = "link_rate_takes", "rate", "takes_s", "generation"
    RATE_TAKES_FURTHER = "link_rate_takes_further", "rate", "takes_s", "generation", "done_s"
    COPYING = "link_copying"
    COPYING_BOUND = "link_copying_bound", "bound"
