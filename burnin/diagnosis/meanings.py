"""What an explanation can say: conclusions, what was seen, claims, suspected faults, next steps.

Speeds are in GT/s, shares in per cent as they are told; `lanes` are numbers and runs of numbers
(`DiagnosisTerm.RUN`), `warm` is `DiagnosisTerm.ONCE_WARM` or None.
"""

from __future__ import annotations

from burnin.core.meaning import CauseCode, CheckCode, NoteCode, ReasonCode, TermCode


class Conclusion(ReasonCode):
    """Why an explanation concludes as it does; where a fault is named, its claim says it."""

    NO_LINK_STAGE = "explain_no_link_stage"
    NOTHING_SHOWS_SO = "explain_nothing_shows_so"
    NOTHING_PROBABLE = "explain_nothing_probable", "probability"
    NOTHING_TO_EXPLAIN = "explain_nothing_to_explain"
    NOT_THE_LINK = "explain_not_the_link"
    IN_A_PART = "explain_in_a_part", "part", "cause", "probability"
    DOES_NOT_START = "explain_does_not_start", "cause", "probability"
    STARTS_AT_TIMES = "explain_starts_at_times", "cause", "probability"
    LEAVES = "explain_leaves", "cause", "probability"
    FOR_MOMENTS = "explain_for_moments", "cause", "probability"
    OTHER_PARTIES = "explain_other_parties", "stage", "why"
    AT_OUTPUT = "explain_at_output", "output", "cause", "probability"


OF_START = (Conclusion.DOES_NOT_START, Conclusion.STARTS_AT_TIMES, Conclusion.LEAVES)


class Weight(ReasonCode):
    """What speaks for or against a claim: what was seen, how often it and others predict that."""

    SPEAKS_FOR = "explain_speaks_for", "seen", "expected_pct", "otherwise_pct"
    SPEAKS_AGAINST = "explain_speaks_against", "seen", "expected_pct", "otherwise_pct"


class Seen(NoteCode):
    """What a record shows of the link; `stage` is the name of the stage that saw it."""

    AT = "seen_at", "stage", "warm", "seen"
    NO_CARD = "seen_no_card"
    CARD_LEFT = "seen_card_left"
    CARD_STAYED = "seen_card_stayed"
    LANES = "seen_lanes", "width_lanes", "most_lanes"
    LANES_UNREAD = "seen_lanes_unread", "most_lanes"
    FULL_SPEED = "seen_full_speed", "speed"
    SPEED = "seen_speed", "speed", "most"
    TOP_SPEED = "seen_top_speed", "speed"
    LINK_LOWERED = "seen_link_lowered"
    LINK_NOT_LOWERED = "seen_link_not_lowered"
    TARGET_SPEED = "seen_target_speed", "speed"
    ERRORS_AT = "seen_errors_at", "end", "errors"
    ERROR_BITS = "seen_error_bits", "end", "lanes"
    NO_ERROR_BITS = "seen_no_error_bits", "end"
    COUNTED = "seen_counted", "end", "errors"
    COUNTED_WITH_BITS = "seen_counted_with_bits", "end", "errors", "lanes"
    REGISTERS_UNREAD = "seen_registers_unread"
    LANES_OFFERED = "seen_lanes_offered", "card_lanes", "slot_lanes"
    SPEEDS_OFFERED = "seen_speeds_offered", "card_gts", "slot_gts"


class DiagnosisTerm(TermCode):
    """Names of what the sentences of an explanation speak of."""

    CARD = "end_card"
    PORT = "end_port"
    RATE = "link_rate", "speed_gts"
    UNKNOWN_RATE = "link_rate_unknown"
    ONE_ERROR = "errors_one"
    ERRORS = "errors_many", "errors_count"
    NOT_COUNTED = "errors_not_counted"
    RUN = "lanes_run", "first", "last"
    LANE = "lane_one", "lane"
    ONE_OF_LANES = "lane_one_of", "lanes"
    RECEIVED = "lane_received"
    SENT = "lane_sent"
    EITHER_WAY = "lane_either_way"
    ONCE_WARM = "once_warm"
    CARD_WARM = "with_card_warm"
    PART_MEMORY = "part_memory"
    PART_HEAT = "part_heat"
    PART_COMPUTE = "part_compute"
    PART_POWER = "part_power"
    PART_IDENTITY = "part_identity"
    PART_MOMENTS = "part_moments"


class Claim(CauseCode):
    """What an explanation claims of the link. `which` names lanes, `side` one direction."""

    NOTHING_WRONG = "claim_nothing_wrong"
    LANE_DEAD = "claim_lane_dead", "which", "warm"
    LANES_NOT_WIRED = "claim_lanes_not_wired"
    LANE_SLOW = "claim_lane_slow", "which", "side", "speed_gts", "warm"
    LANE_ERRS = "claim_lane_errs", "which", "side", "speed_gts", "warm"
    LANE_ERRS_ABOVE = "claim_lane_errs_above", "which", "side", "speed_gts", "warm"
    EVERY_LANE_POOR = "claim_every_lane_poor", "speed_gts", "warm"
    HOST_HOLDS_SPEED = "claim_host_holds_speed", "speed_gts"
    SAVING_HOLDS_SPEED = "claim_saving_holds_speed", "speed_gts"
    NOT_UP = "claim_not_up"
    UP_AT_TIMES = "claim_up_at_times"
    LEAVES_THE_BUS = "claim_leaves_the_bus"
    BESIDE_THE_LANES = "claim_beside_the_lanes"
    SOMETHING_ELSE = "claim_something_else"


class FaultCause(CauseCode):
    """Where a suspected fault sits; `contacts` are names of edge contacts, ``B54+B55`` of pairs."""

    CONTACT = "fault_contact", "contacts"
    PAIR = "fault_pair", "contacts"
    CAPACITOR = "fault_capacitor", "contacts"
    SLOT_CONTACT = "fault_slot_contact", "contacts"
    RISER = "fault_riser"
    SLOT_WIRING = "fault_slot_wiring"
    HOST_SPEED = "fault_host_speed"
    POWER_SAVING = "fault_power_saving"
    POWER_PATH = "fault_power_path"
    JOINT = "fault_joint"
    SEATING = "fault_seating"


class OutputCause(CauseCode):
    """What may be wrong at one display output."""

    NOTHING = "output_nothing_wrong"
    HOT_PLUG = "output_hot_plug_contact"
    DATA_OPEN = "output_data_channel_open"
    DATA_POOR = "output_data_channel_poor"
    PICTURE_LANES = "output_picture_lanes"
    CABLE = "output_cable"
    MONITOR = "output_monitor"
    PROTECTION = "output_protection"
    DRIVER = "output_driver"
    SCREEN_POWER = "output_screen_power"
    BEHIND = "output_behind"


class HeatFault(CauseCode):
    """What may be wrong with a card's cooling."""

    SOUND = "heat_sound"
    MOUNT = "heat_mount"
    PASTE = "heat_paste"
    FINS = "heat_fins"
    FLOW = "heat_flow"
    FAN = "heat_fan"
    ROOM = "heat_room"
    DRY = "heat_dry"
    SENSOR = "heat_sensor"
    SOMETHING_ELSE = "heat_something_else"


class IdentityFault(CauseCode):
    """What may make a card call itself something else."""

    FIRMWARE = "identity_firmware"
    OTHER_MODEL = "identity_other_model"
    STRAPS = "identity_straps"
    SOMETHING_ELSE = "identity_something_else"


class MomentFault(CauseCode):
    """What may take a link down for moments."""

    OPENS_FOR_MOMENTS = "moment_opens"
    SEAT_OR_SLOT = "moment_seat_or_slot"
    POWER = "moment_power"
    RISER = "moment_riser"
    SOMETHING_ELSE = "moment_something_else"


class StartCause(CauseCode):
    """What may keep a card from starting; `contacts` may be a rail's name."""

    CLOCK = "start_clock", "contacts"
    RESET = "start_reset", "contacts"
    PRESENCE = "start_presence", "contacts"
    GROUND = "start_ground", "contacts"
    LANE_ZERO = "start_lane_zero", "contacts"
    SUPPLY_CONTACT = "start_supply_contact", "contacts"
    SENSE_LINE = "start_sense_line", "contacts"
    ANY_SENSE_LINE = "start_any_sense_line"
    RAIL_SHORT = "start_rail_short", "contacts"
    SUPPLY_UNIT = "start_supply_unit"
    POWER_PATH = "start_power_path"
    JOINT = "start_joint"
    SEATING = "start_seating"
    SOMETHING_ELSE = "start_something_else"


class SupplyFault(CauseCode):
    """What may be wrong with a card's supply."""

    CONTACT = "supply_fault_contact", "contacts"
    ANY_CONTACT = "supply_fault_any_contact"
    SENSE = "supply_fault_sense", "contacts"
    ANY_SENSE = "supply_fault_any_sense"
    JOINT = "supply_fault_joint"
    UNIT = "supply_fault_unit"
    LIMIT = "supply_fault_limit"
    SOMETHING_ELSE = "supply_fault_something_else"
    NOTHING = "supply_fault_nothing"


class ComputeFault(CauseCode):
    """What may make a card's results wrong."""

    CHIP = "compute_chip"
    SUPPLY = "compute_supply"
    MEMORY = "compute_memory"
    SOMETHING_ELSE = "compute_something_else"


class NextCheck(CheckCode):
    """What to do next, because it tells most for its time."""

    RESEAT = "step_reseat"
    OTHER_SLOT = "step_other_slot"
    NO_RISER = "step_no_riser"
    HOST_SET_UP = "step_host_set_up"
    LOWER_SPEED = "step_lower_speed"
    TWELVE_VOLTS = "step_twelve_volts"
    LANE_REGISTERS = "step_lane_registers"
    WARM_CARD = "step_warm_card"
    METER = "step_meter", "contacts"
    METER_AT_START = "step_meter_at_start", "contacts", "first"
    SWAP_CABLE = "step_swap_cable", "output"
    METER_OUTPUT = "step_meter_output", "contacts"
    OTHER_MONITOR = "step_other_monitor"
    OTHER_DRIVER = "step_other_driver"
    COMPUTE_WITH_PICTURE = "step_compute_with_picture"
    METER_WHAT_LINK_HIDES = "step_meter_what_link_hides"
