"""What hides something from a run, what that costs, and what to do about it."""

from __future__ import annotations

from burnin.core.meaning import TermCode


class Hides(TermCode):
    """What was found; `option` is a word of the kernel's command line or of its build."""

    OPTION = "hides_option", "option"
    KERNEL_WITHOUT = "hides_kernel_without", "option"
    LOCKED_DOWN = "hides_locked_down", "mode"
    SECURE_BOOT = "hides_secure_boot"
    ASPM_POLICY = "hides_aspm_policy", "policy"
    ASPM_ON = "hides_aspm_on", "end", "states"
    ERRORS_KEPT_BACK = "hides_errors_kept_back", "end"
    WINDOWS_LOW = "hides_windows_low", "window_mib"
    WINDOW_UNPLACED = "hides_window_unplaced", "window_number"
    NO_DRIVER = "hides_no_driver"
    GUEST_DRIVER = "hides_guest_driver", "driver"
    ASLEEP = "hides_asleep"
    OUTPUT_FORCED = "hides_output_forced", "output", "state"
    EDID_SET = "hides_edid_set", "output"
    RIGHT = "hides_right", "thing"


class Costs(TermCode):
    """What a run cannot show because of it."""

    ERRORS = "hides_costs_errors"
    EXTENDED_SPACE = "hides_costs_extended_space"
    OUTPUTS = "hides_costs_outputs"
    DRIVER = "hides_costs_driver"
    DEBUG = "hides_costs_debug"
    UNSIGNED = "hides_costs_unsigned"
    SLEEPING_LINK = "hides_costs_sleeping_link"
    MEMORY_WINDOW = "hides_costs_memory_window"
    UNREACHED = "hides_costs_unreached"
    FIRST_VALUES = "hides_costs_first_values"
    KERNEL_LOG = "hides_costs_kernel_log"
    SENSORS = "hides_costs_sensors"
    RIGHT = "hides_costs_right", "what"


class Mend(TermCode):
    """How to mend it."""

    TAKE_OPTION_AWAY = "hides_mend_take_option_away", "option"
    OTHER_KERNEL = "hides_mend_other_kernel", "option"
    SECURE_BOOT = "hides_mend_secure_boot"
    ASPM = "hides_mend_aspm"
    NATIVE_ERRORS = "hides_mend_native_errors"
    ABOVE_4G = "hides_mend_above_4g"
    DRIVER = "hides_mend_driver"
    GUEST_DRIVER = "hides_mend_guest_driver", "driver"
    KEEP_AWAKE = "hides_mend_keep_awake", "address"
    OUTPUT = "hides_mend_output", "output"
    RIGHT = "hides_mend_right", "needs"


class CheckLine(TermCode):
    """Lines of the listing."""

    NOTHING = "hides_line_nothing"
    COSTS = "hides_line_costs", "what"
    MEND = "hides_line_mend", "how"
    BENCH = "hides_line_bench"
