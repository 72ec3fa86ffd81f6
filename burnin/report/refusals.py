"""Why a report or plot cannot be made, as codes."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode


class ReportRefusal(ReasonCode):
    """A format, a file or the typesetter that fails; `words` are theirs."""

    FORMAT_FAILED = "refused_report_format_failed", "report", "error", "words"
    MUST_NOT_WRITE = "refused_report_must_not_write", "report", "file"
    NO_SINGLE_FILE = "refused_report_no_single_file"
    NOT_SET = "refused_report_not_set", "words"
    PLOT_NAME = "refused_report_plot_name", "file"
