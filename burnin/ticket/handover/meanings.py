"""What of a folder is not as it left, and what its signature says."""

from __future__ import annotations

from burnin.core.meaning import NoteCode, ReasonCode


class SigningReason(ReasonCode):
    """Why a record, a handover or a sheet is not as it left.

    `file` is a name in the folder, `run` that of a record's folder, `key` a key's fingerprint,
    `fault` a reason of this enum, `error` a library's own words.
    """

    FILE_CHANGED = "signing_file_changed", "file"
    FILE_MISSING = "signing_file_missing", "file"
    FILE_ADDED = "signing_file_added", "file"
    FILE_NOT_LISTED = "signing_file_not_listed", "file"
    LINE_CHANGED = "signing_line_changed", "file", "line"
    NO_SIGNATURE = "signing_no_signature", "file"
    LIST_CHANGED = "signing_list_changed", "file"
    SIGNATURE_CHANGED = "signing_signature_changed", "file"
    SIGNATURE_NOT_READ = "signing_signature_not_read", "file", "error"
    OTHER_KEY = "signing_other_key", "file", "key"
    RECORD_GONE = "signing_record_gone"
    LIST_CHANGED_SINCE = "signing_list_changed_since", "file"
    OF_RECORD = "signing_of_record", "run", "fault"
    HANDOVER_NOT_WHOLE = "signing_handover_not_whole", "file", "error"


class HandoverReason(ReasonCode):
    """Why a ticket is not handed over.

    `run` is the name of a record's folder, `number` the ticket that a record names, `why` a reason,
    `error` words of an error.
    """

    REFUSED = "handover_refused", "number", "why"
    OF_RECORD = "handover_of_record", "run", "why"
    OF_LOG = "handover_of_log", "why"
    OTHER_TICKET = "handover_other_ticket", "number"
    NOT_LISTED = "handover_not_listed"
    SIMULATED = "handover_simulated"
    REAL = "handover_real"
    CHANGED_SINCE_END = "handover_changed_since_end"
    RECORD_GONE = "handover_record_gone"
    NOT_READ = "handover_not_read", "error"
    NOT_SIGNED = "handover_not_signed", "folder", "why"


class SignedNote(NoteCode):
    """By whom a list of checksums is signed; `key` is a key's fingerprint."""

    BY_THIS_SHOP = "signed_by_this_shop", "key"
    BY_UNKNOWN = "signed_by_unknown", "key"
