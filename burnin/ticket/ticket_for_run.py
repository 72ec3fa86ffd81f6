"""What a ticket tells a run before it begins: may it, what is left to do, what is proven."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from burnin.core.meaning import Note, Reason, Term, Value
from burnin.core.ticket_header import Ticket
from burnin.core.verdict import OwedWhat, OwedWork, StageVerdict, stage_title
from burnin.profile.loader import LoadedProfile
from burnin.profile.model import stage_name
from burnin.run.plan import Earlier
from burnin.ticket.before_power.pads_measured import pads_measured
from burnin.ticket.before_power.power_gate import may_power
from burnin.ticket.event_notes import overruled_note
from burnin.ticket.log.store import ticket_at, ticket_folder, who
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.meanings import TicketNote
from burnin.ticket.owed_work import Owes, owed_now
from burnin.ticket.proven.counting import runs_that_count
from burnin.ticket.proven.proven_stages import Proven, carried_over, standing
from burnin.ticket.proven.ticket_profile import profile_of_ticket
from burnin.ticket.put_off import not_before, put_off_by_cure, stages_put_off
from burnin.ticket.shop.shop_file import load_shop


@dataclass(frozen=True)
class TicketForRun:
    """All that a run needs of a ticket.

    `refusal` says why no power may be put on the card, None where it may; `left_out_why` gives by
    name of stage why it is put off; `owed` is what this run owes on top of its own stages; `notes`
    belong into the journal. `earlier` holds what stands already, `from_run` says by which run.
    `before_time` names stages that wait for their time and are carried out all the same, as
    somebody wrote.
    """

    ticket: Ticket
    loaded: LoadedProfile | None
    refusal: Reason | None = None
    left_out_why: Mapping[str, Reason] = field(default_factory=dict)
    owed: tuple[OwedWork, ...] = ()
    earlier: Earlier = field(default_factory=Earlier)
    from_run: Mapping[str, str] = field(default_factory=dict)
    notes: tuple[Note, ...] = ()
    nothing_owed: bool = False
    before_time: tuple[str, ...] = ()

    @property
    def failed_stages(self) -> tuple[Value, ...]:
        """Titles of the stages that failed since the card was last worked on."""
        stages = self.loaded.profile.stages if self.loaded else ()
        found = (
            stage_title(stage.stage, stage.title)
            for number, stage in enumerate(stages, start=1)
            if (one := self.earlier.outcomes.get(stage_name(number, stage))) is not None
            and one.verdict is StageVerdict.FAIL
        )
        return tuple(found)

    @property
    def profile(self) -> str:
        """Name of the profile that the ticket or its newest run names, empty if none."""
        return self.loaded.name if self.loaded else ""


def ticket_for_run(
    results: Path,
    number: str,
    loaded: LoadedProfile | None,
    now: datetime,
    *,
    simulated: bool = False,
    differs: tuple[Term, ...] = (),
    now_words: str = "",
) -> TicketForRun | None:
    """What ticket `number` tells a run; None where no such ticket was opened.

    Only runs of the same profile count, simulated or real like this one. `differs`: in what the
    card is another than the ticket's; such a run takes nothing over. `now_words`: why it does not
    wait for a cure. Raises RecordError for a damaged ticket, BadInput for a number that cannot be
    a folder.
    """
    ticket = ticket_at(ticket_folder(results, number))
    if ticket is None:
        return None
    return told_to_run(
        ticket, loaded, now, simulated=simulated, differs=differs, now_words=now_words
    )


def told_to_run(
    ticket: WholeTicket,
    loaded: LoadedProfile | None,
    now: datetime,
    *,
    simulated: bool,
    differs: tuple[Term, ...] = (),
    now_words: str = "",
) -> TicketForRun:
    """What a ticket tells a run; the same as `ticket_for_run` of a ticket that was read."""
    runs = runs_that_count(ticket, simulated=simulated)
    loaded = loaded or profile_of_ticket(ticket, runs)
    header, profile = ticket_header(ticket), loaded.profile if loaded else None
    refusal = may_power(ticket, profile)
    said = _said(ticket, differs, simulated=simulated)
    if loaded is None:
        return TicketForRun(header, None, refusal, notes=(*_notes(ticket, ()), *said))
    said += pads_measured(loaded.profile, ticket)
    names = [stage_name(n, s) for n, s in enumerate(loaded.profile.stages, start=1)]
    proven = {} if differs else standing(ticket, loaded, runs, now, anew=True)
    stand = {name: proven[name] for name in names if name in proven}
    off = stages_put_off(ticket, loaded.profile, now, overruled=bool(now_words))
    owes = owed_now(ticket, loaded, now)
    left_out = {name: put.told() for name, put in off.items() if name not in stand}
    waiting = put_off_by_cure(ticket, loaded.profile, now) if now_words else {}
    early = tuple(name for name in waiting if name not in stand and name not in left_out)
    if early:
        said.append(TicketNote.BEFORE_TIME(by=who(), stages=early, words=now_words))
    return TicketForRun(
        ticket=header,
        loaded=loaded,
        refusal=refusal,
        left_out_why=left_out,
        owed=_owed_besides(owes, loaded),
        earlier=_earlier(stand),
        from_run={name: stage.run_id for name, stage in stand.items()},
        notes=(*_notes(ticket, owes), *said),
        nothing_owed=len(stand) == len(names),
        before_time=early,
    )


def ticket_header(ticket: WholeTicket) -> Ticket:
    """What a record says of the ticket; the shop's name comes from the shop file."""
    intake = ticket.intake
    card = " ".join(p for p in (intake.get("card", ""), intake.get("serial", "")) if p)
    return Ticket(
        number=ticket.number,
        customer=intake.get("customer", ""),
        card_label=card,
        technician=intake.get("technician", ""),
        shop=load_shop().name,
    )


def _earlier(stand: Mapping[str, Proven]) -> Earlier:
    return Earlier(
        {name: stage.outcome for name, stage in stand.items()},
        {name: carried_over(stage) for name, stage in stand.items()},
    )


def _owed_besides(owes: tuple[Owes, ...], loaded: LoadedProfile) -> tuple[OwedWork, ...]:
    """What a run owes besides its stages and what its profile says that it cannot prove."""
    of_profile = {entry.as_owed().what for entry in loaded.profile.owed}
    return tuple(
        OwedWork("", o.what, not_before(o.reason, o.from_utc))
        for o in owes
        if not o.stage and o.what not in of_profile and not o.what.means(OwedWhat.WHOLE_RUN)
    )


def _said(ticket: WholeTicket, differs: tuple[Term, ...], *, simulated: bool) -> list[Note]:
    """That the run counts for nothing, where it does not."""
    found: list[Note] = []
    if differs:
        found.append(TicketNote.OTHER_CARD(differs=differs))
    if simulated != ticket.simulated:
        kind = TicketNote.SIMULATED_RUN if simulated else TicketNote.REAL_RUN
        found.append(kind(number=ticket.number))
    return found


def _notes(ticket: WholeTicket, owes: tuple[Owes, ...]) -> tuple[Note, ...]:
    notes: list[Note] = [overruled_note(override) for override in ticket.overrides]
    unpowered = tuple(o.what for o in owes if o.before_power)
    if unpowered:
        notes.append(TicketNote.NOT_MEASURED_BEFORE_POWER(points=unpowered))
    return tuple(notes)
