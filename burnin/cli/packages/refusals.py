"""Why a lock of packages cannot be used, as codes."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode


class LockRefusal(ReasonCode):
    """A lock that there is not, or a line of it that locks nothing."""

    NO_SUCH = "refused_lock_no_such", "name", "there"
    NO_VERSION = "refused_lock_no_version", "file", "line", "text"
    NO_SUM = "refused_lock_no_sum", "file", "line", "text"
    NO_REQUIREMENT = "refused_lock_no_requirement", "file", "line", "text"
