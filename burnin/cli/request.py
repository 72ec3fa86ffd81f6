"""How a run begins: profile, ticket, bench, record; anew, or from an interrupted record."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from burnin.cli.terms import CliRefusal
from burnin.core.errors import BadInput, HeldByAnotherRun, NoCard
from burnin.core.meaning import Note
from burnin.core.reading import known
from burnin.core.ticket_header import Ticket
from burnin.profile.loader import LoadedProfile, load_profile
from burnin.run.bench import OpenBench, Options, open_bench_for

if TYPE_CHECKING:
    from burnin.cli.ticket_of_run import Asked
    from burnin.run.plan import RunPlan
    from burnin.ticket.log.whole_ticket import WholeTicket
    from burnin.ticket.ticket_for_run import TicketForRun


@dataclass(frozen=True)
class Wish:
    """What `burnin run` was asked for; `language` is that of the terminal.

    `now` says in writing why stages are carried out before their time. `no_loop`: the card's block
    has no loop; `supply_w`: what the supply gives the card at most, 0 where nobody says. `ask`:
    prompts lie open on the page where no terminal is, and on the simulated machine too.
    `batch_socket`: the open socket that the keeper of a batch left its run; below 0: there is none.
    """

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
    now: str = ""
    no_loop: bool = False
    supply_w: float = 0.0
    ask: bool = False
    batch_socket: int = -1


def begin(wish: Wish) -> RunPlan:
    """Everything that a run needs; raises BurninError for bad input."""
    plan = _begin_again(wish.resume, wish) if wish.resume is not None else _begin_anew(wish)
    unknown = wish.left_out - {stage.stage for stage in plan.profile.stages}
    if unknown:
        there = tuple(dict.fromkeys(stage.stage for stage in plan.profile.stages))
        raise BadInput(CliRefusal.NO_SUCH_STAGES(stages=tuple(sorted(unknown)), there=there))
    return replace(plan, left_out=wish.left_out)


def _begin_again(folder: Path, wish: Wish) -> RunPlan:
    """Go on with a record; a ticket in whose folder it lies is asked as before any run."""
    from burnin.cli import ticket_of_run as on_ticket
    from burnin.record.reader import read_record
    from burnin.run.resume import plan_again, profile_of
    from burnin.ticket.cold_starts_kept import starts_kept
    from burnin.ticket.log.store import ticket_at
    from burnin.ticket.shop.proof_age import proof_age

    record = read_record(folder)
    if not record.run.simulated:
        _not_beside_batch(wish)
    _same_options(wish.options, record.run.options)
    plan = plan_again(folder, proof_age())
    with closed_on_error(plan.bench, plan):
        plan = replace(plan, starts=starts_kept(plan.folder))
        on_ticket.check_card_of_record(record, plan.bench)
        ticket = ticket_at(plan.folder.parent)
        if ticket is None:
            return plan
        now_words = wish.now or ticket.reason_of_now(plan.opening.run_id)
        asked = replace(
            _asked(wish), simulated=plan.opening.simulated, at_terminal=False, now_words=now_words
        )
        found = on_ticket.card_found(ticket, plan.bench, asked)
        said = on_ticket.told(ticket, profile_of(record), asked, found)
        on_ticket.put_on_log(ticket, plan, asked, found, said)
        return on_ticket.with_ticket(plan, said)


def _begin_anew(wish: Wish) -> RunPlan:
    from burnin.cli import ticket_of_run as on_ticket
    from burnin.run.begin import plan_run
    from burnin.ticket.cold_starts_kept import starts_kept
    from burnin.ticket.shop.proof_age import proof_age

    if not wish.options.simulated:
        _not_beside_batch(wish)
    there, asked = _ticket(wish), _asked(wish)
    on_ticket.check_simulated(there, asked)
    on_ticket.check_reason(wish.now)
    loaded = load_profile(wish.profile) if wish.profile else None
    notes: tuple[Note, ...] = ()
    if there is not None:
        said = _owing(wish, on_ticket.told(there, loaded, asked, None))
        loaded, notes = said.loaded, said.notes
    if loaded is None:
        from burnin.profile.loader import profile_names

        raise BadInput(CliRefusal.WHICH_PROFILE(there=profile_names()))
    opened = _open(wish, loaded, there, notes)
    if there is None:
        plan = plan_run(opened, loaded, wish.ticket, wish.options, wish.results, proof_age())
        return _spared(replace(plan, starts=starts_kept(plan.folder)), wish)
    with closed_on_error(opened):
        # Now that the card is known: only what this very card has shown counts.
        found = on_ticket.card_found(there, opened, asked)
        said = _owing(wish, on_ticket.told(there, loaded, asked, found))
        ticket = _filled(wish.ticket, said.ticket)
        plan = plan_run(opened, loaded, ticket, wish.options, wish.results, proof_age())
        plan = _spared(replace(plan, starts=starts_kept(plan.folder)), wish)
        on_ticket.put_on_log(there, plan, asked, found, said)
    plan = on_ticket.with_ticket(plan, said)
    if wish.profile:
        return plan  # a profile that is named is carried out as a whole
    return replace(plan, earlier=said.earlier, carried_over=frozenset(said.from_run))


def _not_beside_batch(wish: Wish) -> None:
    """Raise HeldByAnotherRun where others share out the power that this run would draw too."""
    from burnin.run.batch.bench_lock import refuse_beside_batch
    from burnin.ticket.shop.shop_file import load_shop

    try:
        if wish.batch_socket < 0:
            refuse_beside_batch()
    except HeldByAnotherRun:
        if load_shop().power is not None:
            raise


@contextmanager
def closed_on_error(opened: OpenBench, plan: RunPlan | None = None) -> Iterator[None]:
    """While inside, an error gives back the card, and the record, that were held for the run."""
    try:
        yield
    except BaseException:
        opened.close()
        if plan is not None and plan.held is not None:
            plan.held.release()
        raise


def _same_options(given: Options, kept: Mapping[str, object]) -> None:
    """Raise BadInput where a run is to go on with another bench or card than it was begun with."""
    usual = Options()
    for name in ("simulated", "address", "engine", "software_vulkan"):
        now = getattr(given, name)
        if now != getattr(usual, name) and now != kept.get(name):
            raise BadInput(
                CliRefusal.RESUMED_OTHERWISE(option=name, then=str(kept.get(name)), now=str(now))
            )


def _open(
    wish: Wish, loaded: LoadedProfile, there: WholeTicket | None, notes: tuple[Note, ...]
) -> OpenBench:
    """Open the bench; that nothing enumerated is a finding too, and goes on record."""
    try:
        return open_bench_for(wish.options)
    except NoCard as absent:
        if not wish.ticket.number and not wish.options.simulated:
            raise
        from burnin.cli.terminal.json_lines import JsonLines
        from burnin.run.no_card import record_absence

        lines = JsonLines() if wish.as_json else None
        found = record_absence(
            wish.results, wish.ticket, loaded, wish.options, notes, lines
        )
        _note_absence(there, found.folder, wish)
        raise NoCard(
            CliRefusal.NO_CARD_KEPT(
                absent=absent.told, decide=found.to_decide, folder=str(found.folder)
            )
        ) from absent


def _note_absence(there: WholeTicket | None, record: Path, wish: Wish) -> None:
    """A record of no card belongs to the ticket as any other does."""
    if there is None:
        return
    from burnin.core.verdict import RunVerdict
    from burnin.ticket.runs_on_ticket import RunBegins, begun, ended

    begun(there.folder, RunBegins(record.name, bool(wish.options.simulated), None))
    ended(there.folder, record.name, record, RunVerdict.INCOMPLETE)


def _spared(plan: RunPlan, wish: Wish) -> RunPlan:
    """The plan without stages that would harm the card or could not be judged on this bench."""
    from burnin.run.spared import BenchSays, spared

    said = BenchSays(no_loop=wish.no_loop, supply_w=wish.supply_w or None)
    own_w = known(plan.bench.card.ratings().own_power_limit_w)
    waiting = {} if wish.now else spared(plan.profile, said, own_w)
    return replace(plan, left_out_why={**waiting, **plan.left_out_why})


def _ticket(wish: Wish) -> WholeTicket | None:
    """The ticket that was named, None where none was opened; raises BadInput."""
    if not wish.ticket.number:
        return None
    from burnin.ticket.log.store import logs_below
    from burnin.ticket.numbers import ticket_of_number

    there = ticket_of_number(wish.results, wish.ticket.number)
    if there is None and not wish.ticket.customer and logs_below(wish.results):
        raise BadInput(
            CliRefusal.WHOSE_TICKET(number=wish.ticket.number, results=str(wish.results))
        )
    return there


def _asked(wish: Wish) -> Asked:
    from burnin.cli.ticket_of_run import Asked

    at_terminal = not wish.unattended and not wish.as_json
    return Asked(bool(wish.options.simulated), wish.now, at_terminal, wish.language)


def _owing(wish: Wish, said: TicketForRun) -> TicketForRun:
    """The same; raises BadInput where nothing is left to do and no profile is named."""
    if said.nothing_owed and not wish.profile:
        if failed := said.failed_stages:
            raise BadInput(CliRefusal.FAILED_STANDS(number=wish.ticket.number, stages=failed))
        raise BadInput(CliRefusal.NOTHING_OWED(number=wish.ticket.number))
    return said


def _filled(given: Ticket, kept: Ticket) -> Ticket:
    """What was typed now wins over what the ticket says."""
    return Ticket(
        given.number,
        given.customer or kept.customer,
        given.card_label or kept.card_label,
        given.technician or kept.technician,
        given.shop or kept.shop,
    )
