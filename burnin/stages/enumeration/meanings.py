"""What enumeration may mean."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode, SourceCode


class EnumerationReason(ReasonCode):
    """Why the card is not there as itself. `class_code` and ids are written in hexadecimal."""

    CARDS_FOUND = "enumeration_cards_found", "found_count", "expected_count"
    NO_SUBSYSTEM_ID = "enumeration_no_subsystem_id", "reason"
    NUMBERS_UNREAD = "enumeration_numbers_unread", "reason"
    WRONG_CLASS = "enumeration_wrong_class", "class_code"
    NO_WINDOWS = "enumeration_no_windows"
    SPACE_TOO_SHORT = "enumeration_space_too_short"
    IDENTITY_CHANGED = "enumeration_identity_changed", "then", "now"


class EnumerationSource(SourceCode):
    """Where an identity is from."""

    BUS_CLASSES = "enumeration_bus_classes"
    CONFIGURATION_SPACE = "enumeration_configuration_space"
    CONFIGURATION_SPACE_AGAIN = "enumeration_configuration_space_again"
    RESOURCE_FILE = "enumeration_resource_file"
    DRIVER_LINK = "enumeration_driver_link"
