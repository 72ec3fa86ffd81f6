"""What is meant by the facts of a card, and by a card that differs from the ticket's."""

from __future__ import annotations

from burnin.core.meaning import PromptCode, ReasonCode, TermCode


class CardFact(TermCode):
    """What a card is told apart by, in the order in which it says most."""

    VENDOR_ID = "card_fact_vendor_id"
    DEVICE_ID = "card_fact_device_id"
    SUBSYSTEM_VENDOR_ID = "card_fact_subsystem_vendor_id"
    SUBSYSTEM_ID = "card_fact_subsystem_id"
    SERIAL = "card_fact_serial"
    UUID = "card_fact_uuid"
    BOARD_PART_NUMBER = "card_fact_board_part_number"
    FIRMWARE_VERSION = "card_fact_firmware_version"
    MEMORY_BYTES = "card_fact_memory_bytes"
    OUTPUTS = "card_fact_outputs"


class CardTerm(TermCode):
    """One fact of a card: as it is, or as it was and is now; `fact` is a `CardFact`."""

    IS = "card_fact_is", "fact", "value"
    DIFFERS = "card_fact_differs", "fact", "was", "now"
    NOT_TOLD = "card_fact_not_told", "fact", "was"
    BYTES = "card_fact_size", "gib"
    NO_OUTPUT = "card_fact_no_output"


class OtherCard(ReasonCode):
    """Another card than the ticket's is on the bench; `differs` are terms, one for each fact."""

    ON_BENCH = "ticket_other_card_on_bench", "folder", "differs"
    REFUSED = "ticket_other_card_refused", "number", "differs"
    OF_RECORD = "ticket_other_card_of_record", "differs"
    TICKET_SIMULATED = "ticket_of_simulated_machine", "number"


class CardPrompt(PromptCode):
    """Whether to go on with another card than the ticket's."""

    GO_ON = "ticket_go_on_with_other_card", "number", "differs"
