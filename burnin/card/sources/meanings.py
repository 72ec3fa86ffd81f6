"""What the sources of a card's values can mean, and their names as sources."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode, SourceCode


class LinuxReason(ReasonCode):
    """Why the kernel's files do not tell a value."""

    FIELD_MISSING = "linux_field_missing", "path", "field"
    NO_PORT_ABOVE = "linux_no_port_above"
    CONFIG_TOO_SHORT = "linux_config_too_short", "bytes_there", "header_bytes"
    NO_DRIVER = "linux_no_driver"
    DRIVER_HAS_NO_VERSION = "linux_driver_has_no_version", "driver"
    MEMORY_SIZE_UNTOLD = "linux_memory_size_untold"
    MEMORY_WINDOW_ONLY = "linux_memory_window_only", "window_mib"
    NO_SERIAL = "linux_no_serial", "reason"
    ERRORS_NOT_TAKEN = "linux_errors_not_taken", "port"
    NO_ERROR_COUNTERS = "linux_no_error_counters"
    NO_MEMORY_WIDTH = "linux_no_memory_width"
    NO_MEMORY_ERROR_COUNTERS = "linux_no_memory_error_counters"
    NO_UUID = "linux_no_uuid"
    NO_SENSORS = "linux_no_sensors"
    NO_SUCH_SENSOR = "linux_no_such_sensor"
    SLOWDOWN_UNTOLD = "linux_slowdown_untold"
    NO_CONNECTORS = "linux_no_connectors", "reason"
    NO_DRM_DEVICE = "linux_no_drm_device"
    NO_PROCESS_USE = "linux_no_process_use"


class LinuxSourceOf(SourceCode):
    """Which of the kernel's files a value is from; `address` is that of the PCI function."""

    ATTRIBUTES = "linux_from_attributes"
    HWMON = "linux_from_hwmon"
    LINK_ATTRIBUTES = "linux_from_link_attributes", "address"
    LINK_REGISTERS = "linux_from_link_registers", "address"
    AER_FILE = "linux_from_aer_file", "file", "address"
    DRM_CLIENTS = "linux_from_drm_clients"
    WHOLE_DEGREES = "linux_steps_whole_degrees"
    WHOLE_WATTS = "linux_steps_whole_watts"
    REFRESH_ASSUMED = "linux_steps_refresh_assumed"


class NamesReason(ReasonCode):
    """Why the bench's list of PCI names gives no name; ids are PCI numbers."""

    NO_LIST = "pci_names_no_list"
    LIST_UNREAD = "pci_names_list_unread", "reason"
    NO_VENDOR = "pci_names_no_vendor", "vendor_id"
    NO_DEVICE = "pci_names_no_device", "vendor_id", "device_id"
    NO_BOARD = "pci_names_no_board", "vendor_id", "board_id"
    NAMELESS = "pci_names_nameless"


class NvmlReason(ReasonCode):
    """Why NVML does not tell a value; its error codes are in `nvml_errors`."""

    OTHER_VENDOR = "nvml_other_vendor"
    OTHER_MACHINE = "nvml_other_machine"
    NO_PACKAGE = "nvml_no_package"
    CARD_NOT_OPENED = "nvml_card_not_opened", "address", "reason"
    PACKAGE_LACKS = "nvml_package_lacks", "function"
    NO_HOTSPOT = "nvml_no_hotspot"
    UNKNOWN_TYPE = "nvml_unknown_type", "type_number"
    NO_FAN = "nvml_no_fan"
    NO_SUCH_FAN = "nvml_no_such_fan", "fans_count"
    NO_MEMORY_SENSOR = "nvml_no_memory_sensor"
    UNKNOWN_GENERATION = "nvml_unknown_generation", "generation"
    NO_WIDTH = "nvml_no_width"
    NO_PORT = "nvml_no_port"
    NO_LINK_COUNTERS = "nvml_no_link_counters"
    NO_MEMORY_ERROR_COUNTERS = "nvml_no_memory_error_counters"


class NvmlSourceOf(SourceCode):
    """Which of NVML's answers a value is from."""

    NVML = "nvml_source"
    FIELD = "nvml_source_field", "field_id"
    WHOLE_DEGREES = "nvml_steps_whole_degrees"
    MILLIWATTS = "nvml_steps_milliwatts"
    REFRESH_SEEN = "nvml_steps_refresh_seen"
