"""What a ticket tells a run before it begins: may it, what is left to do, what is proven."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from burnin.core.events import OwedWork
from burnin.profile.loader import LoadedProfile
from burnin.record.ticket_header import Ticket
from burnin.report.figures import moment_text
from burnin.run.runner import Earlier
from burnin.ticket.before_power.power_gate import may_power
from burnin.ticket.owed import (
    BEFORE_POWER,
    WHOLE_RUN,
    owed_now,
    profile_of_ticket,
    put_off,
    standing,
)
from burnin.ticket.proof import Proven, carried_over, runs_that_count, same_card
from burnin.ticket.store import ticket_at, ticket_folder
from burnin.ticket.whole_ticket import Deferral


@dataclass(frozen=True)
class TicketForRun:
    """All that a run needs of a ticket.

    `refusal` is empty or says why no power may be put on the card; `left_out_why` gives by name of
    stage why it is put off; `owed` is what this run owes on top of its own stages; `notes` belong
    into the journal. `earlier` holds what stands already, `from_run` says by which run.
    """

    ticket: Ticket
    loaded: LoadedProfile | None
    refusal: str = ""
    left_out_why: Mapping[str, str] = field(default_factory=dict)
    owed: tuple[OwedWork, ...] = ()
    earlier: Earlier = field(default_factory=Earlier)
    from_run: Mapping[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    nothing_owed: bool = False

    @property
    def profile(self) -> str:
        """Name of the profile that the ticket or its newest run names, empty if none."""
        return self.loaded.name if self.loaded else ""


def for_run(
    results: Path,
    number: str,
    loaded: LoadedProfile | None,
    now: datetime,
    *,
    simulated: bool = False,
    card: Mapping[str, object] | None = None,
    any_card: bool = True,
) -> TicketForRun | None:
    """What ticket `number` tells a run; None where no such ticket was opened.

    Only runs of the same profile count, simulated or real like this one, and on the same card
    where `any_card` is False and `card` gives its identity. Raises RecordError for a damaged
    ticket, BadInput for a number that cannot be a folder.
    """
    ticket = ticket_at(ticket_folder(results, number))
    if ticket is None:
        return None
    runs = tuple(
        run
        for run in runs_that_count(ticket)
        if run.simulated == simulated and (any_card or same_card(run, card))
    )
    loaded = loaded or profile_of_ticket(ticket, runs)
    stand: dict[str, Proven] = standing(ticket, loaded, runs, now) if loaded else {}
    off = put_off(ticket, loaded.profile, now) if loaded else {}
    stages = {name: _why(put) for name, put in off.items() if name not in stand}
    owes = owed_now(ticket, loaded, now) if loaded else ()
    own_owed = {WHOLE_RUN, *(owed.what for owed in loaded.profile.owed)} if loaded else set()
    owed = tuple(
        OwedWork("", _what(o.stage, o.what), _with_day(o.reason, o.from_utc))
        for o in owes
        if o.stage in ("", BEFORE_POWER) and o.what not in own_owed
    )
    notes = tuple(
        f"overruled in writing by {o.by or 'somebody'}: {o.point}: {o.reason}"
        for o in ticket.overrides
    )
    unpowered = [o.what for o in owes if o.stage == BEFORE_POWER]
    if unpowered:
        notes += (f"not measured on the unpowered card: {', '.join(unpowered)}",)
    return TicketForRun(
        ticket=ticket_of(ticket.number, ticket.intake),
        loaded=loaded,
        refusal=may_power(ticket, loaded.profile if loaded else None) or "",
        left_out_why=stages,
        owed=owed,
        earlier=Earlier(
            {name: stage.outcome for name, stage in stand.items()},
            {name: carried_over(stage) for name, stage in stand.items()},
        ),
        from_run={name: stage.run_id for name, stage in stand.items()},
        notes=notes,
        nothing_owed=bool(loaded) and len(stand) == len(loaded.profile.stages if loaded else ()),
    )


def ticket_of(number: str, intake: Mapping[str, str]) -> Ticket:
    """What a record says of the ticket; the shop's name comes from the shop file."""
    from burnin.ticket.shop import load_shop

    card = " ".join(p for p in (intake.get("card", ""), intake.get("serial", "")) if p)
    return Ticket(
        number=number,
        customer=intake.get("customer", ""),
        card_label=card,
        technician=intake.get("technician", ""),
        shop=load_shop().name,
    )


def _why(put: Deferral) -> str:
    return _with_day(put.reason, put.from_utc)


def _with_day(reason: str, from_utc: str) -> str:
    return f"{reason} (from {moment_text(from_utc)})" if from_utc else reason


def _what(stage: str, what: str) -> str:
    return f"Before power: {what}" if stage == BEFORE_POWER else what
