"""What is asked, told and kept at first light."""

from __future__ import annotations

from burnin.core.meaning import NoteCode, PromptCode, TermCode


class LightPrompt(PromptCode):
    """What is asked once power is on; `output` is a screen output's name."""

    SMOKE = "light_ask_smoke"
    BEEPS = "light_ask_beeps"
    FANS = "light_ask_fans"
    IMAGE = "light_ask_image", "output"
    CURRENT = "light_ask_current"


class LightNote(NoteCode):
    """What is told while somebody watches."""

    SWITCH_ON = "light_switch_on"
    POWER_OFF = "light_power_off"
    NONE_BEFORE = "light_none_before"
    BEEPS = "light_beeps", "count", "meaning"
    ONE_BEEP = "light_one_beep", "meaning"


class BeepTerm(TermCode):
    """What a count of beeps commonly means."""

    NONE = "beeps_none"
    STARTED = "beeps_started"
    HOST_MEMORY = "beeps_host_memory"
    HOST_PROCESSOR = "beeps_host_processor"
    KEYBOARD = "beeps_keyboard"
    GRAPHICS_CARD = "beeps_graphics_card"
    NO_COMMON_MEANING = "beeps_no_common_meaning"


class LightTerm(TermCode):
    """Names of what is observed, and the words that are an answer."""

    WHEN = "light_when"
    SMOKE = "light_smoke"
    BEEPS = "light_beep_count"
    FANS = "light_fans"
    TIME_TO_IMAGE = "light_time_to_image"
    CURRENT = "light_current"
    IMAGE = "light_image", "output"
    ENDED = "light_ended"
    OF_NEWER_TOOL = "light_of_newer_tool", "key"
    YES = "light_yes"
    NO = "light_no"
    NO_FANS = "light_no_fans"
    AT_ONCE = "light_at_once"
    ANSWER = "light_answer", "name", "answer"
    AT = "light_at", "time_utc"
