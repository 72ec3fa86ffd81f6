"""What movements may mean."""

from __future__ import annotations

from burnin.core.meaning import NoteCode, PromptCode, ReasonCode, SourceCode, TermCode


class MovementReason(ReasonCode):
    """Why a movement failed or was not tried.

    `during` is a movement (`MovementTerm`), `events` what happened while it lasted
    (`MovementEvent`), `reason` another's.
    """

    CAME = "movement_came", "during", "events"
    CAME_OF_SCREENS = "movement_came_of_screens", "during", "events"
    NEVER_LOOKED = "movement_never_looked", "reason"
    NOT_DONE = "movement_not_done"
    TOO_SOON = "movement_too_soon", "stood_s", "least_s"
    TOO_SHORT = "movement_too_short", "over_s", "least_s"
    NOTHING_TO_MOVE = "movement_nothing_to_move"
    NOT_REACHED = "movement_not_reached", "reason"
    ENDED_BEFORE = "movement_ended_before"


class MovementTerm(TermCode):
    """What is done; `number` counts power plugs from 1, `output` is named as the driver does."""

    UNTOUCHED = "movement_untouched"
    FREE_END = "movement_free_end"
    EDGE = "movement_edge"
    POWER_PLUG = "movement_power_plug", "number"
    SCREEN_CABLE = "movement_screen_cable", "output"


class MovementEvent(TermCode):
    """What happened; `errors` are counters that rose."""

    CARD_GONE = "movement_card_gone"
    LINK_DOWN = "movement_link_down"
    LINK_NARROWER = "movement_link_narrower", "from_lanes", "to_lanes"
    LINK_SLOWER = "movement_link_slower", "from_gts", "to_gts"
    LINK_ERRORS = "movement_link_errors", "errors"
    SCREEN_LOST = "movement_screen_lost", "output"
    SCREENS_LOST_TOGETHER = "movement_screens_lost_together", "outputs"


class MovementSource(SourceCode):
    """How closely was looked."""

    LOOKED = "movement_looked", "looks_count", "over_s"
    AT_ONCE = "movement_at_once"


class MovementNote(NoteCode):
    """What is put on record; `event` is what happened, `at_s` since the run began."""

    HAPPENED = "movement_happened", "during", "event", "at_s"
    STILL = "movement_still"
    MOVING = "movement_moving", "during"
    CAUTION = "movement_caution"


class MovementPrompt(PromptCode):
    """What the technician is asked to do."""

    FREE_END = "movement_do_free_end"
    EDGE = "movement_do_edge"
    POWER_PLUG = "movement_do_power_plug", "number"
    SCREEN_CABLE = "movement_do_screen_cable", "output"
