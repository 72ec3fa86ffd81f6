"""What all stages may mean: the bench's boot, counters that say nothing, prompts under load."""

from __future__ import annotations

from burnin.core.meaning import PromptCode, ReasonCode


class StagesReason(ReasonCode):
    """Reasons that more than one kind of stage gives.

    `counter` is ``end name`` as its source calls it; `first` and `last` are its values.
    """

    BOOT_NOT_ASKED = "boot_not_asked"
    UPTIME_NOT_A_NUMBER = "uptime_not_a_number", "text"
    COUNTER_ONLY_BEFORE = "counter_only_before", "counter"
    COUNTER_ONLY_AFTER = "counter_only_after", "counter"
    COUNTER_RESTARTED = "counter_restarted", "counter", "first", "last"
    COUNTER_FULL = "counter_full", "counter", "last"
    COUNTER_ROSE = "counter_rose", "counter", "rise_count"
    DAMAGE_TO_CARD_UNSEEN = "damage_to_card_unseen"
    DAMAGE_TO_HOST_UNSEEN = "damage_to_host_unseen"
    PROMPT_TIMED_OUT = "prompt_timed_out", "waited_s"
    PROMPT_SKIPPED = "prompt_skipped"
    PROMPT_LEFT_OUT = "prompt_left_out"
    PROMPT_NOT_UNDERSTOOD = "prompt_not_understood", "times_count"
    PROMPT_WITHDRAWN = "prompt_withdrawn", "reason"
    NO_WAY_BACK = "prompt_no_way_back"
    PROMPT_CANNOT_STAND = "prompt_cannot_stand"


class StagesPrompt(PromptCode):
    """What is asked once more: `words` say what was wrong with the answer to `prompt`."""

    AGAIN = "prompt_again", "words", "prompt"
