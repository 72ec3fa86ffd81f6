"""What can be said of rights: the things that take them, the rights, what came, what is lost."""

from __future__ import annotations

from burnin.core.meaning import TermCode


class RightThing(TermCode):
    """A thing that the tool reads or does."""

    BUS = "rights_thing_bus"
    IDENTITY = "rights_thing_identity"
    CONFIG_OF_CARD = "rights_thing_config_of_card"
    CONFIG_OF_PORT = "rights_thing_config_of_port"
    LINK = "rights_thing_link"
    POSITION = "rights_thing_position"
    SLOT_NAME = "rights_thing_slot_name"
    LINK_ERRORS = "rights_thing_link_errors"
    MEMORY_ERRORS = "rights_thing_memory_errors"
    SENSORS = "rights_thing_sensors"
    OWN_LIMITS = "rights_thing_own_limits"
    FREE_MEMORY = "rights_thing_free_memory"
    OUTPUTS = "rights_thing_outputs"
    PROCESS_USE = "rights_thing_process_use"
    NVML = "rights_thing_nvml"
    ENGINE = "rights_thing_engine", "engine"
    LOCK = "rights_thing_lock"
    KERNEL_LOG = "rights_thing_kernel_log"
    BENCH_FACTS = "rights_thing_bench_facts"
    BENCH_IDENTITY = "rights_thing_bench_identity"
    BENCH_SETTINGS = "rights_thing_bench_settings"
    BOOT = "rights_thing_boot"
    RECORDS = "rights_thing_records"
    SHOP = "rights_thing_shop"


class RightNeeded(TermCode):
    """What a thing takes."""

    NOTHING = "rights_needs_nothing"
    SYS_ADMIN = "rights_needs_sys_admin"
    SYSLOG = "rights_needs_syslog"
    OWN_PROCESSES = "rights_needs_own_processes"
    DRM_FILES = "rights_needs_drm_files"
    VENDOR_FILES = "rights_needs_vendor_files"
    MACHINE_ID = "rights_needs_machine_id"
    SLOT_NAME = "rights_needs_slot_name"
    LOCK_FOLDER = "rights_needs_lock_folder"
    WRITING = "rights_needs_writing"


class RightLost(TermCode):
    """What goes unmeasured, or is not done, without a thing."""

    BUS = "rights_lost_bus"
    IDENTITY = "rights_lost_identity"
    CONFIG_OF_CARD = "rights_lost_config_of_card"
    CONFIG_OF_PORT = "rights_lost_config_of_port"
    LINK = "rights_lost_link"
    POSITION = "rights_lost_position"
    SLOT_NAME = "rights_lost_slot_name"
    LINK_ERRORS = "rights_lost_link_errors"
    MEMORY_ERRORS = "rights_lost_memory_errors"
    SENSORS = "rights_lost_sensors"
    OWN_LIMITS = "rights_lost_own_limits"
    FREE_MEMORY = "rights_lost_free_memory"
    OUTPUTS = "rights_lost_outputs"
    PROCESS_USE = "rights_lost_process_use"
    NVML = "rights_lost_nvml"
    ENGINE = "rights_lost_engine"
    LOCK = "rights_lost_lock"
    KERNEL_LOG = "rights_lost_kernel_log"
    BENCH_FACTS = "rights_lost_bench_facts"
    BENCH_IDENTITY = "rights_lost_bench_identity"
    BENCH_SETTINGS = "rights_lost_bench_settings"
    BOOT = "rights_lost_boot"
    RECORDS = "rights_lost_records"
    SHOP = "rights_lost_shop"


class RightSeen(TermCode):
    """What came of a trial; `why` is a reason, `how` what it was read through."""

    TOLD = "rights_seen_told"
    TOLD_OF = "rights_seen_told_of", "told_count", "asked_count"
    TOLD_BUT = "rights_seen_told_but", "told_count", "asked_count", "why"
    NOT_TOLD = "rights_seen_not_told", "why"
    BYTES = "rights_seen_bytes", "readable_bytes", "whole_bytes"
    CARDS = "rights_seen_cards", "cards_count"
    THROUGH = "rights_seen_through", "how"
    OPENED = "rights_seen_opened", "how"
    HELD = "rights_seen_held", "why"
    NODE_REFUSED = "rights_seen_node_refused", "node", "group", "mode"
    FOLDER_OPEN = "rights_seen_folder_open", "folder"
    FOLDER_SHUT = "rights_seen_folder_shut", "folder"
    FOLDER_SEEN_BY_OTHERS = "rights_seen_folder_seen_by_others", "folder", "mode"
    SIMULATED = "rights_seen_simulated"


class RightLine(TermCode):
    """Lines and headings of the listing; `user` is the account's name."""

    ACCOUNT = "rights_line_account", "user", "uid_number", "held"
    HOLDS_NONE = "rights_line_holds_none"
    SIMULATED = "rights_line_simulated", "scenario"
    BENCH = "rights_line_bench"
    HERE = "rights_line_here", "seen"
    NEEDS = "rights_line_needs", "needs"
    WITHOUT = "rights_line_without", "what"
    WHERE = "rights_line_where", "places"
    YES = "rights_line_yes"
    PART = "rights_line_part"
    NO = "rights_line_no"
    NOT_HERE = "rights_line_not_here"
    NOT_TRIED = "rights_line_not_tried"
