"""Why a stick cannot be built or is not what it should be, as codes."""

from __future__ import annotations

from burnin.core.meaning import NoteCode, ReasonCode


class StickRefusal(ReasonCode):
    """What keeps a stick from being built, read back or added to."""

    NO_TABLE = "refused_stick_no_table", "file"
    TABLE_TORN = "refused_stick_table_torn", "file"
    NO_BOOT_SECTOR = "refused_stick_no_boot_sector", "size_bytes"
    NO_PART = "refused_stick_no_part", "file", "part"
    NO_MENU = "refused_stick_no_menu", "file"
    TOOL_MISSING = "refused_stick_tool_missing", "tool", "package"
    TOOL_FAILED = "refused_stick_tool_failed", "tool", "status", "last"
    NO_TREE = "refused_stick_no_tree", "folder"
    NOT_ROOT = "refused_stick_not_root"
    IMAGE_THERE = "refused_stick_image_there", "file"
    SETTINGS_TORN = "refused_stick_settings_torn", "file", "words"
    SETTING_WRONG = "refused_stick_setting_wrong", "file", "key", "value"
    NOT_ON_STICK = "refused_stick_not_on_stick"
    UNATTENDED_WRONG = "refused_stick_unattended_wrong", "file"
    NO_PACKAGE = "refused_stick_no_package", "file"
    OTHER_SUM = "refused_stick_other_sum", "file", "sha256"
    NOT_IN_PACKAGE = "refused_stick_not_in_package", "file", "package"


class StickNote(NoteCode):
    """What is told while a stick is built or read back."""

    STEP_DEBIAN = "stick_step_debian", "packages_count"
    STEP_KEPT = "stick_step_kept", "file"
    STEP_WHEELS = "stick_step_wheels"
    STEP_ROOT = "stick_step_root"
    STEP_SQUEEZE = "stick_step_squeeze"
    STEP_TREE = "stick_step_tree"
    STEP_IMAGE = "stick_step_image"
    BUILT = "stick_built", "file", "size_mib", "sha256", "root_hash"
    PART_SIZE = "stick_part_size", "part", "size_mib"
    ROOT_RIGHT = "stick_root_right", "size_mib", "root_hash"
    ROOT_WRONG = "stick_root_wrong", "root_hash", "wanted"
    PART_RIGHT = "stick_part_right", "part", "size_mib"
    PART_WRONG = "stick_part_wrong", "part", "at_byte"
    NOT_COMPARED = "stick_not_compared"
    BILL = "stick_bill", "file", "packages_count"
    NOT_AS_LOCKED = "stick_not_as_locked", "packages"
    ADDED = "stick_added", "file", "sha256"
    LEFT_OUT = "stick_left_out"
