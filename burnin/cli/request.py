"""How a run begins: profile, ticket, bench, record; anew, or from an interrupted record."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from burnin.core.errors import BadInput, NoCard
from burnin.profile.loader import LoadedProfile, load_profile, parse_profile
from burnin.record.ticket_header import Ticket, folder_name
from burnin.record.writer import plain
from burnin.run.bench import OpenBench, Options, facts_of, open_bench_for, run_folder

if TYPE_CHECKING:
    from burnin.card.card import Identity
    from burnin.run.runner import Earlier
    from burnin.ticket.for_run import TicketForRun


@dataclass(frozen=True)
class Wish:
    """What `burnin run` was asked for."""

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


@dataclass(frozen=True)
class Begun:
    """A run that can be carried out; `found` is what its ticket says, where there is one."""

    opened: OpenBench
    loaded: LoadedProfile
    run_id: str
    folder: Path
    facts: dict[str, object]
    start_s: float
    earlier: Earlier
    found: TicketForRun | None = None
    resumed: int = 0


def begin(wish: Wish) -> Begun:
    """Everything that a run needs; raises BurninError for bad input."""
    from burnin.run.runner import Earlier

    if wish.resume is not None:
        return _begin_again(wish.resume)
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
    run_id, folder = run_folder(wish.results, ticket, opened.clock.utc())
    facts = facts_of(opened, loaded, ticket, run_id, folder, wish.options)
    earlier = found.earlier if found else Earlier()
    start_s = opened.clock.monotonic_s()
    return Begun(opened, loaded, run_id, folder, facts, start_s, earlier, found)


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
    from dataclasses import replace

    from burnin.run.runner import Earlier
    from burnin.ticket.dates import utc_now
    from burnin.ticket.for_run import for_run

    simulated = bool(wish.options.simulated)
    card = plain(identity) if identity else None
    found = for_run(
        wish.results,
        wish.ticket.number,
        loaded,
        utc_now(),
        simulated=simulated,
        card=card if isinstance(card, dict) else None,
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


def _begin_again(folder: Path) -> Begun:
    """Go on with an interrupted record: its own profile, its own options, its own card."""
    import tomllib

    from burnin.run.resume import last_elapsed_s, read_earlier, seconds_since_start

    facts, earlier = read_earlier(folder)
    profile, options = facts["profile"], facts["options"]
    assert isinstance(profile, dict)
    assert isinstance(options, dict)
    text = str(profile["text"])
    loaded = parse_profile(
        str(profile["name"]), str(profile["file"]), text, tomllib.loads(text)
    )
    opened = open_bench_for(Options(**options))
    card = facts.get("card")
    if opened.identity is not None and isinstance(card, dict):
        now, then = opened.identity, card
        if (now.vendor_id, now.device_id) != (then["vendor_id"], then["device_id"]):
            raise BadInput(
                f"{folder} was begun on {facts['card_text']}; another card is on this bench now"
            )
        serial, known_serial = plain(now.serial), then.get("serial")
        if isinstance(known_serial, str) and serial != known_serial:
            raise BadInput(f"{folder} was begun on the card with serial {known_serial}")
    clock = opened.clock
    # A simulated clock may have run ahead of the wall: elapsed_s must go on rising.
    passed_s = max(seconds_since_start(facts, clock.utc()), last_elapsed_s(folder) + 1.0)
    facts["resumed"] = times = int(str(facts.get("resumed") or 0)) + 1
    return Begun(
        opened,
        loaded,
        str(facts["run_id"]),
        folder,
        facts,
        clock.monotonic_s() - passed_s,
        earlier,
        resumed=times,
    )


def _check_ticket(ticket: Ticket) -> None:
    if ticket.number:
        try:
            folder_name(ticket.number)
        except ValueError as error:
            raise BadInput(str(error)) from error
