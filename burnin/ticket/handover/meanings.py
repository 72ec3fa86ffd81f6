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
    SHEET_COPIED = "signing_sheet_copied", "file", "of"
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
    NOT_SIGNED_BECAUSE = "signing_not_signed_because", "error"
    LINKED = "signing_linked", "file"
    NOT_A_FILE = "signing_not_a_file", "file"
    KEY_NOT_KNOWN = "signing_key_not_known", "key"
    KEY_ENDED = "signing_key_ended", "file", "key", "until_utc"
    KEY_TOO_NEW = "signing_key_too_new", "file", "key", "from_utc"
    HANDOVER_NOT_WHOLE = "signing_handover_not_whole", "file", "error"


KEY_FAULTS = (SigningReason.OTHER_KEY, SigningReason.KEY_NOT_KNOWN)
"""What is wrong where nothing was changed, but nobody known here vouches for it."""


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
    PHOTO_CHANGED = "handover_photo_changed", "file", "original"
    NOT_READ = "handover_not_read", "error"
    NOT_SIGNED = "handover_not_signed", "folder", "why"


class LeftOut(ReasonCode):
    """Why a sheet does not stand on a run of its ticket."""

    BEFORE_WORK = "left_out_before_work"
    OTHER_CARD = "left_out_other_card"
    OTHER_MACHINE = "left_out_other_machine"
    NOT_ENDED = "left_out_not_ended"
    NOT_LISTED = "left_out_not_listed"
    SAYS_NOTHING = "left_out_says_nothing"


class ChainReason(ReasonCode):
    """What of a ticket's chain (its log, its runs, its handovers) is not as it was made.

    `run` and `handover` are names of folders, `file` is a name in the ticket's folder, `number` a
    ticket's, `head` what was given, `fault` a reason, `error` a library's own words or an error's.
    """

    LOG_GONE = "chain_log_gone", "file"
    LOG_NOT_READ = "chain_log_not_read", "error"
    OF_LOG = "chain_of_log", "fault"
    LOG_UNLIKE = "chain_log_unlike", "handover"
    FILE_UNLIKE = "chain_file_unlike", "file", "handover"
    RUN_GONE = "chain_run_gone", "run"
    RUN_ADDED = "chain_run_added", "run"
    RUN_SWAPPED = "chain_run_swapped", "run", "holds"
    RUN_MADE_ANEW = "chain_run_made_anew", "run"
    RUN_NOT_READ = "chain_run_not_read", "run", "error"
    RUN_OF_OTHER_TICKET = "chain_run_of_other_ticket", "run", "number"
    RUNS_UNLIKE = "chain_runs_unlike", "handover"
    OF_HANDOVER = "chain_of_handover", "handover", "fault"
    HANDOVER_GONE = "chain_handover_gone", "handover"
    HANDOVER_ADDED = "chain_handover_added", "handover"
    HANDOVER_SWAPPED = "chain_handover_swapped", "handover"
    HANDOVERS_UNLIKE = "chain_handovers_unlike", "handover"
    OF_OTHER_TICKET = "chain_of_other_ticket", "folder", "number"
    ROLLED_BACK = "chain_rolled_back", "head"
    NO_HANDOVER_OF = "chain_no_handover_of", "folder", "fingerprint"


class ChainNote(NoteCode):
    """What a chain that holds says of itself: `head` is its newest, for keeping elsewhere."""

    WHOLE = "chain_whole", "number", "runs_count", "left_out_count", "handovers_count", "head"
    HEAD_FOUND = "chain_head_found", "head"
    ALONE = "chain_alone"
    LOG_OF_OLDER_TOOL = "chain_log_of_older_tool"


class SignedNote(NoteCode):
    """By whom a list of checksums is signed; `key` is a key's fingerprint."""

    BY_THIS_SHOP = "signed_by_this_shop", "key"
    BY_FORMER_KEY = "signed_by_former_key", "key", "until_utc"
