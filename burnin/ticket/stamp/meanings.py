"""What a time stamp that lies beside a sheet says, and why it says nothing."""

from __future__ import annotations

from burnin.core.meaning import NoteCode, ReasonCode


class StampReason(ReasonCode):
    """Why a time stamp vouches for nothing.

    `file` is the name of what it lies beside, `path` a file's, `error` a library's own words.
    """

    OTHER_BYTES = "stamp_other_bytes", "file"
    NOT_READ = "stamp_not_read", "file", "error"
    NOT_GRANTED = "stamp_not_granted", "file"
    NOT_SIGNED = "stamp_not_signed", "file"
    OTHER_SERVICE = "stamp_other_service", "file"
    NO_CERTIFICATE = "stamp_no_certificate", "path", "error"


class StampNote(NoteCode):
    """When something was stamped: UTC ISO-8601."""

    CHECKED = "stamp_checked", "file", "time_utc"
    NOT_CHECKED = "stamp_not_checked", "file", "time_utc"
