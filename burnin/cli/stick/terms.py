"""What the stick's own screens say, as codes."""

from __future__ import annotations

from burnin.core.meaning import TermCode


class DeskTerm(TermCode):
    """Lines of the stick's screens."""

    TITLE = "stick_title"
    SHOP = "stick_shop", "shop"
    FROM_MEMORY = "stick_from_memory"
    FROM_STICK = "stick_from_stick"
    UP_AFTER = "stick_up_after", "seconds"
    KEYBOARD = "stick_keyboard"
    LANGUAGE = "stick_language"
    TIME_ZONE = "stick_time_zone"
    ASK_SHOP = "stick_ask_shop"
    KEY_WARNING = "stick_key_warning"
    NUMBER_OR_NAME = "stick_number_or_name", "first"
    NOT_ONE = "stick_not_one"
    CHOOSE = "stick_choose"
    NO_CARD = "stick_no_card"
    SIMULATED = "stick_simulated"
    SOFTWARE = "stick_software"
    SETTINGS = "stick_settings"
    POWER_OFF = "stick_power_off"
    POWER_KEY = "stick_power_key"
    WHICH_PROFILE = "stick_which_profile"
    WHICH_TICKET = "stick_which_ticket"
    NO_TICKET = "stick_no_ticket"
    COPIED = "stick_copied", "files_count"
    NOT_COPIED = "stick_not_copied", "words"
    TICKETS_IN = "stick_tickets_in", "files_count"
    TAKEN_IN = "stick_taken_in", "files"
    REFUSED = "stick_refused", "files"
    ENTER = "stick_enter"
    BEGIN = "stick_begin"
    CAUTION = "stick_caution"
    DONE = "stick_done", "code", "seconds"
