"""Why a bench cannot be recorded, or a recording of one be read, as codes."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode


class RecordingRefusal(ReasonCode):
    """A folder that was named."""

    NOT_EMPTY = "refused_recording_not_empty", "folder"
    OTHER_FORMAT = "refused_recording_other_format", "folder", "format"
    NONE = "refused_recording_none", "folder", "words"
