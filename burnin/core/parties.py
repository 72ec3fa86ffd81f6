"""Who may be at fault where a reading fails, what tells them apart, and the step that decides.

Who could cause which reading, and how an observation (`Sight`) bears on it: `suspects.py`; what
was observed: `sights.py`; the weighing: `blame.py`.
"""

from __future__ import annotations

from collections.abc import Mapping

from burnin.core.meaning import CheckCode, ReasonCode, TermCode


class Party(TermCode):
    """Whose fault a failed reading may be."""

    CARD = "party_card"
    SLOT = "party_slot"
    ROOT_PORT = "party_root_port"
    RISER = "party_riser"
    SUPPLY = "party_supply"
    MONITOR = "party_monitor"
    CABLE = "party_cable"
    SENSOR = "party_sensor"
    DRIVER = "party_driver"
    SET_UP = "party_set_up"
    ROOM = "party_room"


class Sight(TermCode):
    """What was observed, and makes a party more or less likely, or rules it out."""

    SLOT_PROVEN = "sight_slot_proven"
    OUTPUT_PROVEN = "sight_output_proven"
    SUPPLY_PROVEN = "sight_supply_proven"
    DRIVER_PROVEN = "sight_driver_proven"
    HELD_BY_PORT = "sight_held_by_port"
    LOWERED_BY_SYSTEM = "sight_lowered_by_system"
    LOW_FROM_THE_START = "sight_low_from_the_start"
    FULL_BEFORE = "sight_full_before"
    WARM_ONLY = "sight_warm_only"
    ERRORS_AT_BOTH_ENDS = "sight_errors_at_both_ends"
    ERRORS_AT_CARD = "sight_errors_at_card"
    ERRORS_AT_PORT = "sight_errors_at_port"
    ONE_LANE = "sight_one_lane"
    MANY_LANES = "sight_many_lanes"
    NO_ERRORS = "sight_no_errors"
    CLEAN_BUT_SLOW = "sight_clean_but_slow"
    SENSORS_AGREE = "sight_sensors_agree"
    SENSOR_OFF_AT_REST = "sight_sensor_off_at_rest"
    ROOM_TOO_LITTLE = "sight_room_too_little"
    ROOM_WARM = "sight_room_warm"
    HEAT_FOLLOWED = "sight_heat_followed"
    STAYED_COOL = "sight_stayed_cool"
    STILL_ON_THE_BUS = "sight_still_on_the_bus"
    GONE_FROM_THE_BUS = "sight_gone_from_the_bus"
    ALL_SCREENS_DARK = "sight_all_screens_dark"
    OTHER_SCREENS_GOOD = "sight_other_screens_good"
    FULL_WIDTH_CARRIED = "sight_full_width_carried"
    BRAKE_FROM_OUTSIDE = "sight_brake_from_outside"


class Step(CheckCode):
    """The one step that decides, and about how many minutes it takes."""

    OTHER_SLOT = "decide_other_slot", "minutes"
    WITHOUT_RISER = "decide_without_riser", "minutes"
    LOOK_AT_SET_UP = "decide_look_at_set_up", "minutes"
    OTHER_HOST = "decide_other_host", "minutes"
    OTHER_SUPPLY = "decide_other_supply", "minutes"
    SWAP_MONITOR = "decide_swap_monitor", "minutes"
    SWAP_CABLE = "decide_swap_cable", "minutes"
    COMPARE_SENSOR = "decide_compare_sensor", "minutes"
    OTHER_DRIVER = "decide_other_driver", "minutes"
    COOLER_ROOM = "decide_cooler_room", "minutes"


STEPS: Mapping[Party, tuple[Step, int]] = {
    Party.SLOT: (Step.OTHER_SLOT, 2),
    Party.ROOT_PORT: (Step.OTHER_HOST, 10),
    Party.RISER: (Step.WITHOUT_RISER, 3),
    Party.SUPPLY: (Step.OTHER_SUPPLY, 5),
    Party.MONITOR: (Step.SWAP_MONITOR, 2),
    Party.CABLE: (Step.SWAP_CABLE, 2),
    Party.SENSOR: (Step.COMPARE_SENSOR, 5),
    Party.DRIVER: (Step.OTHER_DRIVER, 10),
    Party.SET_UP: (Step.LOOK_AT_SET_UP, 5),
    Party.ROOM: (Step.COOLER_ROOM, 15),
}
"""The step that tells a party from the card; minutes are estimates without a source."""


class PartyReason(ReasonCode):
    """That failed readings are not laid to the card alone.

    `readings` are names; `parties` terms, most likely first; `ruled_out` terms of RULED_OUT; `step`
    is a `Step`. TO_DECIDE stands beside the name of its reading.
    """

    MAY_BE = "parties_may_be", "readings", "parties", "step"
    MAY_BE_BUT = "parties_may_be_but", "readings", "parties", "ruled_out", "step"
    TO_DECIDE = "parties_to_decide", "parties", "step"


class PartyTerm(TermCode):
    """What rules a party out."""

    RULED_OUT = "party_ruled_out", "party", "because"
