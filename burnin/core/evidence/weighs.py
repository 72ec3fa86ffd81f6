"""What an observation makes of the likelihood of each party.

Factors of common practice at a repair bench, without a source; only the order that they lead to
and what is ruled out (0) matter.
"""

from __future__ import annotations

from collections.abc import Mapping

from burnin.core.parties import Party, Sight

WAY_TO_CARD = (Party.SLOT, Party.ROOT_PORT, Party.RISER, Party.SET_UP)

WEIGHS: Mapping[Sight, Mapping[Party, float]] = {
    Sight.SLOT_PROVEN: dict.fromkeys(WAY_TO_CARD, 0.0),
    Sight.OUTPUT_PROVEN: dict.fromkeys((Party.MONITOR, Party.CABLE), 0.0),
    Sight.SUPPLY_PROVEN: {Party.SUPPLY: 0.0},
    Sight.DRIVER_PROVEN: {Party.DRIVER: 0.0},
    Sight.HELD_BY_PORT: {Party.SET_UP: 50.0},
    Sight.LOWERED_BY_SYSTEM: {Party.SET_UP: 8.0, Party.CARD: 0.5},
    Sight.LOW_FROM_THE_START: {Party.SET_UP: 1.5, Party.SLOT: 1.2},
    Sight.FULL_BEFORE: {Party.SET_UP: 0.0, Party.CARD: 1.4},
    Sight.WARM_ONLY: {Party.CARD: 1.5, Party.RISER: 0.4, Party.ROOT_PORT: 0.5},
    Sight.ERRORS_AT_BOTH_ENDS: {
        Party.RISER: 5.0,
        Party.ROOT_PORT: 1.5,
        Party.SET_UP: 0.2,
        Party.CARD: 0.8,
        Party.SLOT: 0.8,
    },
    Sight.ERRORS_AT_CARD: {Party.CARD: 1.2, Party.SLOT: 1.2, Party.SET_UP: 0.2},
    Sight.ERRORS_AT_PORT: {Party.CARD: 1.6, Party.SLOT: 1.1, Party.SET_UP: 0.2},
    Sight.ONE_LANE: {Party.CARD: 2.0, Party.SLOT: 1.5, Party.RISER: 0.4, Party.ROOT_PORT: 0.4},
    Sight.MANY_LANES: {Party.RISER: 6.0, Party.ROOT_PORT: 2.0, Party.CARD: 0.5, Party.SLOT: 0.4},
    Sight.NO_ERRORS: {Party.SET_UP: 3.0, Party.RISER: 0.6},
    Sight.CLEAN_BUT_SLOW: {Party.RISER: 2.5, Party.SET_UP: 1.2},
    Sight.SENSORS_AGREE: {Party.SENSOR: 0.0},
    Sight.SENSOR_OFF_AT_REST: {Party.SENSOR: 30.0, Party.ROOM: 0.2},
    Sight.ROOM_TOO_LITTLE: {Party.ROOM: 0.0},
    Sight.ROOM_WARM: {Party.ROOM: 10.0},
    Sight.HEAT_FOLLOWED: {Party.SENSOR: 0.0},
    Sight.STAYED_COOL: {Party.SENSOR: 4.0},
    Sight.STILL_ON_THE_BUS: {
        Party.DRIVER: 4.0,
        **dict.fromkeys((Party.SUPPLY, Party.SLOT, Party.RISER, Party.ROOT_PORT), 0.0),
    },
    Sight.GONE_FROM_THE_BUS: {Party.DRIVER: 0.0},
    Sight.ALL_SCREENS_DARK: {Party.DRIVER: 10.0, Party.MONITOR: 3.0, Party.CARD: 0.5},
    Sight.OTHER_SCREENS_GOOD: {Party.DRIVER: 0.0},
    Sight.FULL_WIDTH_CARRIED: {Party.CARD: 0.0},
    Sight.BRAKE_FROM_OUTSIDE: {Party.SUPPLY: 20.0},
    Sight.PADS_GOOD: {Party.CARD: 0.25, Party.SLOT: 3.0},
    Sight.PADS_BAD: {Party.CARD: 8.0},
    Sight.SENSOR_SCATTERS: {Party.SENSOR: 20.0, Party.CARD: 0.3},
    Sight.SENSOR_LEAPT: {Party.SENSOR: 20.0, Party.CARD: 0.3},
    Sight.COOLING_PROVEN: {Party.SET_UP: 0.0},
    Sight.OWN_FANS: {Party.SET_UP: 0.0},
    Sight.KEEPS_RISING: {Party.SET_UP: 5.0},
    Sight.CAME_TO_REST: {Party.SET_UP: 0.4},
    Sight.POWER_STANDS: {Party.SENSOR: 60.0},
    Sight.POWER_IMPOSSIBLE: {Party.SENSOR: 60.0},
    Sight.COUNTER_DISAGREES: {Party.SENSOR: 60.0},
    Sight.AT_LIMIT_IN_FORCE: {Party.SENSOR: 0.0},
    Sight.ANSWERS_AFTER: {Party.DRIVER: 2.0, Party.SUPPLY: 0.5},
    Sight.WORK_STAYED_RIGHT: {Party.CARD: 0.5, Party.DRIVER: 1.5},
    Sight.PROVEN_AS_IT_WAS: dict.fromkeys((Party.SLOT, Party.ROOT_PORT, Party.SET_UP), 0.0),
    Sight.MANY_LANES_AT_PORT: {
        Party.ROOT_PORT: 12.0,
        Party.SLOT: 2.0,
        Party.CARD: 0.5,
        Party.RISER: 0.4,
    },
    Sight.MANY_LANES_AT_CARD: {Party.ROOT_PORT: 3.0, Party.CARD: 1.5, Party.RISER: 0.4},
    Sight.NEIGHBOUR_ON_PORT: {Party.SET_UP: 6.0, Party.SLOT: 1.5},
    Sight.HELD_BELOW_OWN: {Party.SUPPLY: 3.0, Party.SET_UP: 0.3},
    Sight.SUPPLY_PROVEN_BUT_HELD: {Party.SUPPLY: 0.1},
    Sight.GONE_AT_FULL_POWER: {Party.SUPPLY: 2.2},
    Sight.SLOWED_FOR_HEAT: {Party.SUPPLY: 0.0, Party.DRIVER: 0.0},
    Sight.NOT_FOR_HEAT: {Party.ROOM: 0.0, Party.SENSOR: 0.0},
    Sight.HEAT_TURNED: {Party.SET_UP: 6.0, Party.ROOM: 0.2},
    Sight.NO_OWN_FANS: {Party.SET_UP: 2.0},
    Sight.DIFFERENCE_PASSED: {Party.SENSOR: 10.0, Party.CARD: 0.3},
    Sight.OTHERS_FOLLOWED: {Party.DRIVER: 0.0, Party.SENSOR: 3.0},
    Sight.ONE_UNREAD: {Party.SENSOR: 3.0, Party.DRIVER: 0.3},
    Sight.POWER_WITHOUT_HEAT: {Party.SENSOR: 60.0},
    Sight.BUSY_AT_REST: {Party.DRIVER: 12.0, Party.ROOM: 0.2},
    Sight.FAULT_AND_HANG: {Party.DRIVER: 1.8},
    Sight.AT_LOWEST_RATE: {Party.SET_UP: 8.0, Party.CARD: 0.5, Party.RISER: 0.3},
    Sight.PROVEN_BUT_SET: dict.fromkeys((Party.SLOT, Party.ROOT_PORT, Party.RISER), 0.0),
    Sight.SHARED_BY_SCREENS: {Party.MONITOR: 8.0, Party.CABLE: 0.3, Party.CARD: 0.5},
    Sight.OTHER_MODEL: {Party.SET_UP: 20.0},
    Sight.OF_THIS_MODEL: {Party.SET_UP: 0.0},
    Sight.AT_OWN_POWER: {Party.SET_UP: 20.0, Party.SUPPLY: 0.1, Party.DRIVER: 0.3},
    Sight.FAN_RAN_DOWN: {Party.SENSOR: 0.0},
    Sight.COOLED_AS_IT_WAS: {Party.SET_UP: 2.0},
}
"""By what an observation multiplies a party's weight; 0 rules it out.

A contact is a pad and a spring: where the meter says that the repaired pad is good, the fault that
damaged it is looked for at its other half (`PADS_GOOD`), and each carries one direction, so that
errors both ways are not one contact's. A poor channel harms both ways: many lanes at one end alone
are that end's receivers or the other's transmitters (`MANY_LANES_AT_PORT`). A proof is of the slot
as it was: what only a channel does, a riser put in since may do (`PROVEN_AS_IT_WAS`). A plug is put
in anew with each card, and the card reads its sense lines: where it tells that it is held below its
own limit, a supply that fed others is in doubt all the same (`SUPPLY_PROVEN_BUT_HELD`). What fails
at the most that a card draws strains plugs and supply most (`GONE_AT_FULL_POWER`). What takes the
heat of a card without fans is of the bench (`NO_OWN_FANS`). Power states at rest are the driver's
(`BUSY_AT_REST`); so is a wrong access after which work hangs while the bus answers
(`FAULT_AND_HANG`). A proof of a slot
is not one of its set-up, which a hand or an update changes (`PROVEN_BUT_SET`); one of a loop or a
stream is of it as it was, and a pump may stop today (`COOLED_AS_IT_WAS`); one of monitors is of
each, and not of the strip, box or dock that several share (`SHARED_BY_SCREENS`)."""
