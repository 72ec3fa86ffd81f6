"""What follows from a ticket: what it owes, its next step, and the word of each of its runs.

Every record that counts is judged anew for it, as for `burnin tickets`; of long records that takes
seconds, so that it is done beside the looking, the most urgent ticket first.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta

from burnin.core.errors import BurninError
from burnin.core.meaning import Meaning
from burnin.core.verdict import RunVerdict
from burnin.page.judging import Judging
from burnin.page.tickets.seen import RunSeen, TicketSeen, WorkedOut
from burnin.ticket.log.days_and_spans import moment_of, utc_now
from burnin.ticket.next_step import next_step
from burnin.ticket.owed_work import owed_now

_LOOK_EVERY_S = 0.1
_AT_LATEST = timedelta(hours=1)
"""What a ticket owes is found out anew so often, whatever happens: a clock may have been set."""


def worked_out(seen: TicketSeen, now: datetime | None = None) -> WorkedOut:
    """What a ticket owes and what comes next."""
    moment = now or utc_now()
    try:
        owes = owed_now(seen.ticket, now=moment)
        step = next_step(seen.ticket, moment)
    except BurninError as error:
        return WorkedOut(until=moment + _AT_LATEST, fault=error.told)
    except Exception as error:  # whatever a record holds, the other tickets are shown
        return WorkedOut(until=moment + _AT_LATEST, fault=f"{type(error).__name__}: {error}")
    comes = [moment_of(one.from_utc) for one in owes if not one.may_be_done(moment)]
    return WorkedOut(owes, step, min([*comes, moment + _AT_LATEST]))


def looked_over(run: RunSeen, ended: Callable[[], bool]) -> RunSeen:
    """The run with its word, as a sheet prints it; without one where `ended` came before."""
    judging = Judging(run.folder)
    judged: tuple[RunVerdict, Meaning] | None = None
    while (judged := judging.look()) is None and not ended():
        time.sleep(_LOOK_EVERY_S)
    judging.end()
    return replace(run, judged=judged)
