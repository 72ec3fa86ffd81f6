"""How a run begins: profile, ticket, bench, record; anew, or from an interrupted record."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from burnin.core.errors import BadInput, NoCard
from burnin.core.ticket_header import Ticket, folder_name
from burnin.profile.loader import LoadedProfile, load_profile
from burnin.run.bench import OpenBench, Options, open_bench_for

if TYPE_CHECKING:
    from burnin.core.identity import Identity
    from burnin.run.plan import RunPlan
    from burnin.ticket.ticket_for_run import TicketForRun


@dataclass(frozen=True)
class Wish:
    """What `burnin run` was asked for; `language` is that of the terminal."""

    profile: str
    options: Options
    ticket: Ticket
    left_out: frozenset[str]
    monitors: str
    unattended: bool
    resume: Path | None
    results: Path
    show_all: bool
    as_json: bool
    language: str = "en"


def begin(wish: Wish) -> RunPlan:
    """Everything that a run needs; raises BurninError for bad input."""
    plan = _begin_again(wish.resume) if wish.resume is not None else _begin_anew(wish)
    unknown = wish.left_out - {stage.stage for stage in plan.profile.stages}
    if unknown:
        there = ", ".join(dict.fromkeys(s.stage for s in plan.profile.stages))
        raise BadInput(f"--without {', '.join(sorted(unknown))}: the profile has {there}")
    return replace(plan, left_out=wish.left_out)


def _begin_again(folder: Path) -> RunPlan:
    from burnin.run.resume import plan_again
    from burnin.ticket.cold_starts_kept import starts_kept

    plan = plan_again(folder)
    return replace(plan, starts=starts_kept(plan.folder))


def _begin_anew(wish: Wish) -> RunPlan:
    from burnin.run.begin import plan_run
    from burnin.ticket.cold_starts_kept import starts_kept

    _check_ticket(wish.ticket)
    loaded = load_profile(wish.profile) if wish.profile else None
    found = _of_ticket(wish, loaded)
    loaded = loaded or (found.loaded if found else None)
    if loaded is None:
        from burnin.profile.loader import profile_names

        raise BadInput(f"which profile? --profile with one of: {', '.join(profile_names())}")
    opened = _open(wish, loaded)
    if found is not None:
        # Now that the card is known: only what this very card has shown counts.
        found = _of_ticket(wish, loaded, opened.identity, card_known=True)
    ticket = _filled(wish.ticket, found.ticket) if found else wish.ticket
    plan = plan_run(opened, loaded, ticket, wish.options, wish.results)
    plan = replace(plan, starts=starts_kept(plan.folder))
    if found is None:
        return plan
    return replace(
        plan,
        earlier=found.earlier,
        left_out_why=found.left_out_why,
        ticket_owed=found.owed,
        carried_over=frozenset(found.from_run),
        notes=found.notes,
    )


def _open(wish: Wish, loaded: LoadedProfile) -> OpenBench:
    """Open the bench; that nothing enumerated is a finding too, and goes on record."""
    try:
        return open_bench_for(wish.options)
    except NoCard as absent:
        if not wish.ticket.number and not wish.options.simulated:
            raise
        from burnin.run.no_card import record_absence

        folder = record_absence(wish.results, wish.ticket, loaded, wish.options)
        raise NoCard(
            f"{absent}\nrecord   {folder}\n`burnin explain` on that folder says what to look at."
        ) from absent


def _of_ticket(
    wish: Wish,
    loaded: LoadedProfile | None,
    identity: Identity | None = None,
    *,
    card_known: bool = False,
) -> TicketForRun | None:
    """What the ticket says of this run; raises BadInput where no power may be put on the card.

    A profile that is named is carried out as a whole, whatever earlier runs have shown.
    """
    if not wish.ticket.number:
        return None
    from burnin.run.plan import Earlier
    from burnin.ticket.log.days_and_spans import utc_now
    from burnin.ticket.ticket_for_run import ticket_for_run

    found = ticket_for_run(
        wish.results,
        wish.ticket.number,
        loaded,
        utc_now(),
        simulated=bool(wish.options.simulated),
        card=identity,
        any_card=not card_known,
    )
    if found is not None and found.refusal:
        raise BadInput(found.refusal)
    if found is not None and found.nothing_owed and not wish.profile:
        raise BadInput(
            f"ticket {wish.ticket.number} owes no stage; name --profile to carry one out again"
        )
    return replace(found, earlier=Earlier(), from_run={}) if found and wish.profile else found


def _filled(given: Ticket, kept: Ticket) -> Ticket:
    """What was typed now wins over what the ticket says."""
    return Ticket(
        given.number,
        given.customer or kept.customer,
        given.card_label or kept.card_label,
        given.technician or kept.technician,
        given.shop or kept.shop,
    )


def _check_ticket(ticket: Ticket) -> None:
    if ticket.number:
        try:
            folder_name(ticket.number)
        except ValueError as error:
            raise BadInput(str(error)) from error
