"""Who may be at fault where a reading fails, what tells them apart, and the step that decides.

Who could cause which reading, and how an observation (`Sight`) bears on it: `suspects.py`; what
was observed: `evidence/`, gathered by `sights.py`; the weighing: `blame.py`.
"""

from __future__ import annotations

from collections.abc import Mapping

from burnin.core.meaning import CheckCode, NoteCode, ReasonCode, TermCode


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
    PADS_GOOD = "sight_pads_good"
    PADS_BAD = "sight_pads_bad"
    SENSOR_SCATTERS = "sight_sensor_scatters"
    SENSOR_LEAPT = "sight_sensor_leapt"
    COOLING_PROVEN = "sight_cooling_proven"
    OWN_FANS = "sight_own_fans"
    KEEPS_RISING = "sight_keeps_rising"
    CAME_TO_REST = "sight_came_to_rest"
    POWER_STANDS = "sight_power_stands"
    POWER_IMPOSSIBLE = "sight_power_impossible"
    COUNTER_DISAGREES = "sight_counter_disagrees"
    AT_LIMIT_IN_FORCE = "sight_at_limit_in_force"
    ANSWERS_AFTER = "sight_answers_after"
    WORK_STAYED_RIGHT = "sight_work_stayed_right"
    PROVEN_AS_IT_WAS = "sight_proven_as_it_was"
    MANY_LANES_AT_PORT = "sight_many_lanes_at_port"
    MANY_LANES_AT_CARD = "sight_many_lanes_at_card"
    NEIGHBOUR_ON_PORT = "sight_neighbour_on_port"
    HELD_BELOW_OWN = "sight_held_below_own"
    SUPPLY_PROVEN_BUT_HELD = "sight_supply_proven_but_held"
    GONE_AT_FULL_POWER = "sight_gone_at_full_power"
    SLOWED_FOR_HEAT = "sight_slowed_for_heat"
    NOT_FOR_HEAT = "sight_not_for_heat"
    HEAT_TURNED = "sight_heat_turned"
    NO_OWN_FANS = "sight_no_own_fans"
    DIFFERENCE_PASSED = "sight_difference_passed"
    OTHERS_FOLLOWED = "sight_others_followed"
    ONE_UNREAD = "sight_one_unread"
    POWER_WITHOUT_HEAT = "sight_power_without_heat"
    BUSY_AT_REST = "sight_busy_at_rest"
    FAULT_AND_HANG = "sight_fault_and_hang"
    AT_LOWEST_RATE = "sight_at_lowest_rate"
    PROVEN_BUT_SET = "sight_proven_but_set"
    SHARED_BY_SCREENS = "sight_shared_by_screens"
    OTHER_MODEL = "sight_other_model"
    OF_THIS_MODEL = "sight_of_this_model"
    AT_OWN_POWER = "sight_at_own_power"
    FAN_RAN_DOWN = "sight_fan_ran_down"
    COOLED_AS_IT_WAS = "sight_cooled_as_it_was"


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
    LOOK_AT_COOLING = "decide_look_at_cooling", "minutes"
    SEAT_PLUGS = "decide_seat_plugs", "minutes"
    COUNT_OUTPUTS = "decide_count_outputs", "minutes"
    TAKE_PROFILE = "decide_take_profile", "minutes"
    MEND_CONTACT = "decide_mend_contact", "minutes"
    LOOK_AT_SHARED = "decide_look_at_shared", "minutes"


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

STEPS_OF_HEAT: Mapping[Party, tuple[Step, int]] = {
    Party.SET_UP: (Step.LOOK_AT_COOLING, 5),
    Party.SUPPLY: (Step.OTHER_SUPPLY, 5),
}
"""The same, where a card grew too warm: a bench's set-up is its loop or its stream of air then."""

STEPS_HELD: Mapping[Party, tuple[Step, int]] = {Party.SUPPLY: (Step.SEAT_PLUGS, 3)}
"""The same, where the card tells that it is held below its own limit: it reads its plugs anew."""

MEND_CONTACT = (Step.MEND_CONTACT, 20)
"""Where a repaired contact that every card needs measured open: nothing else is looked at first."""

STEPS_OF_OUTPUTS: Mapping[Party, tuple[Step, int]] = {Party.SET_UP: (Step.COUNT_OUTPUTS, 2)}
"""The same, where outputs are missing: a bench's set-up is the profile that counts them then."""

STEPS_OF_MODEL: Mapping[Party, tuple[Step, int]] = {Party.SET_UP: (Step.TAKE_PROFILE, 2)}
"""The same, where the card is sound and agrees with itself on another model than the profile's."""

STEPS_OF_SCREENS: Mapping[Party, tuple[Step, int]] = {Party.MONITOR: (Step.LOOK_AT_SHARED, 2)}
"""The same, where several screens went in one moment: no swap tells them from each other."""


class PartyReason(ReasonCode):
    """That failed readings are not laid to the card alone.

    `readings` are names; `parties` terms, most likely first; `ruled_out` terms of RULED_OUT; `step`
    is a `Step`. TO_DECIDE stands beside the name of its reading; ALONE where a load was ended, or
    a stage put off, by what the card alone can have caused.
    """

    MAY_BE = "parties_may_be", "readings", "parties", "step"
    MAY_BE_BUT = "parties_may_be_but", "readings", "parties", "ruled_out", "step"
    TO_DECIDE = "parties_to_decide", "parties", "step"
    ALONE = "parties_alone", "parties"


class PartyNote(NoteCode):
    """Repaired contacts as the meter told them before power: joined with their trace, or not."""

    PADS_GOOD = "party_pads_good", "contacts"
    PADS_BAD = "party_pads_bad", "contacts"


class PartyTerm(TermCode):
    """What rules a party out."""

    RULED_OUT = "party_ruled_out", "party", "because"
