"""Which profile a ticket's card must show."""

from __future__ import annotations

from pathlib import Path

from burnin.core.errors import ProfileError
from burnin.profile.loader import LoadedProfile, load_profile, profile_of_text
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.proven.past_runs import PastRun


def profile_of_ticket(
    ticket: WholeTicket, runs: tuple[PastRun, ...] = ()
) -> LoadedProfile | None:
    """The profile that the ticket names, else that of the newest run; to the letter as it was run.

    A run with another profile proves what it proves, and changes nothing of what is owed.
    """
    named = ticket.intake.get("profile", "")
    try:
        for run in reversed(runs):
            if named and run.profile_name != Path(named).stem:
                continue
            then = run.run.profile
            if then.text:
                return profile_of_text(then.name, then.file, then.text)
        return load_profile(named) if named else None
    except ProfileError:
        return None
