"""What the worker process and its pipe can mean."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode


class WorkerReason(ReasonCode):
    """How the worker process ended, or what was wrong with what it told.

    `how` is a reason; `words` are the last that the process or a library in it said.
    """

    NOT_STARTED = "worker_not_started", "how"
    NOT_READY_IN_TIME = "worker_not_ready_in_time", "seconds"
    REFUSED = "worker_refused"
    ENDED = "worker_ended", "how"
    ENDED_SAYING = "worker_ended_saying", "how", "words"
    STOP_UNCONFIRMED = "worker_stop_unconfirmed", "seconds"
    STOPPED = "worker_stopped", "seconds"
    SILENT = "worker_silent", "seconds"
    GIVEN_UP = "worker_given_up", "how"
    LEFT_BEHIND = "worker_left_behind", "pid", "seconds", "how"
    TOLD_CARD_LOST = "worker_told_card_lost"
    END_UNHEARD = "worker_end_unheard", "seconds"
    GONE = "worker_gone"
    BY_SIGNAL = "worker_by_signal", "signal"
    BY_EXIT_CODE = "worker_by_exit_code", "exit_code"
    SAID = "worker_said", "words"
    NO_MESSAGE = "worker_pipe_no_message", "text"
    UNKNOWN_KIND = "worker_pipe_unknown_kind", "kind"
    TORN = "worker_pipe_torn", "kind", "words"
