"""Why nobody vouches for a ticket's log, and why a key cannot be used."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode


class LogHeadReason(ReasonCode):
    """`file` is a file's name beside the log, `key` a key's fingerprint.

    `lines_count`: for how many lines somebody vouches; `more_count`: how many follow on them.
    """

    MISSING = "log_head_missing", "file"
    NOT_WHOLE = "log_head_not_whole", "file"
    CHANGED = "log_head_changed", "file"
    OTHER_KEY = "log_head_other_key", "file"
    LOG_CHANGED = "log_head_log_changed", "lines_count"
    LOG_SHORTER = "log_head_log_shorter", "lines_count", "there_count"
    LINES_ADDED = "log_head_lines_added", "file", "lines_count", "more_count"
    OUT_OF_TIME = "log_head_out_of_time", "file", "key", "until_utc"


class ShopKeyReason(ReasonCode):
    """Why the shop's key, or one that was given, cannot be used.

    `file` is its path, `mode` its mode in octal digits, `error` a library's own words.
    """

    NO_LIBRARY = "shop_key_no_library"
    OTHERS_MAY_READ = "shop_key_others_may_read", "file", "mode"
    OTHERS_MAY_WRITE = "shop_key_others_may_write", "folder", "mode"
    NOT_OURS = "shop_key_not_ours", "file"
    EMPTY = "shop_key_empty", "file"
    TORN = "shop_key_torn", "file"
    WITH_PASSWORD = "shop_key_with_password", "file"
    NOT_PRIVATE = "shop_key_not_private", "file", "error"
    NOT_PUBLIC = "shop_key_not_public", "file", "error"
    OTHER_KIND = "shop_key_other_kind", "file"
    HISTORY_NOT_WHOLE = "shop_key_history_not_whole", "file", "error"
