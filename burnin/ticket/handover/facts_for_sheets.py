"""A ticket as the sheets take it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from burnin.core.clock import iso
from burnin.core.meaning import Note, Reason
from burnin.core.verdict import VerdictReason, stage_title
from burnin.profile.model import Profile
from burnin.record.event_log import read_log
from burnin.report.ticket.ticket_facts import (
    OwedFact,
    PhotoFact,
    RepairFact,
    SeenFact,
    ShopFacts,
    StartFact,
    TicketFacts,
)
from burnin.stages.cold_starts.start_log import Start, so_far
from burnin.ticket.before_power.judging import is_short, judged
from burnin.ticket.before_power.points import wanted
from burnin.ticket.before_power.power_gate import against_power
from burnin.ticket.cold_starts_kept import starts_of_ticket
from burnin.ticket.event_notes import (
    before_time_note,
    correction_note,
    overruled_note,
    story,
)
from burnin.ticket.first_light.kept import observed
from burnin.ticket.intake.photos import is_whole, small_jpeg
from burnin.ticket.log.both_clocks import cured_at
from burnin.ticket.log.ticket_from_log import LOG
from burnin.ticket.log.whole_ticket import Measured, Photo, WholeTicket
from burnin.ticket.meanings import TicketOwed, TicketReason
from burnin.ticket.owed_work import Owes, owed_now
from burnin.ticket.proven.counting import runs_that_count
from burnin.ticket.proven.past_runs import past_runs
from burnin.ticket.proven.proven_stages import Proven, standing
from burnin.ticket.proven.ticket_profile import profile_of_ticket
from burnin.ticket.shop.shop_file import Language, Shop, logo_bytes


def facts_of_ticket(
    ticket: WholeTicket, now: datetime, known_good: WholeTicket | None = None
) -> TicketFacts:
    """Everything that a ticket's sheets say besides the record."""
    runs = runs_that_count(ticket)
    loaded = profile_of_ticket(ticket, runs)
    owes = owed_now(ticket, loaded, now)
    stand = standing(ticket, loaded, runs, now) if loaded else {}
    events = read_log(ticket.folder / LOG).events
    return TicketFacts(
        number=ticket.number,
        intake=dict(ticket.intake),
        opened_utc=ticket.opened_utc,
        expedited=ticket.expedited,
        seen=tuple(SeenFact(d.where, d.what, d.note) for d in ticket.damage),
        repairs=tuple(
            RepairFact(
                r.what, r.contacts, r.time_utc, iso(cured_at(r)) if r.cured_utc else "", r.by
            )
            for r in ticket.repairs
        ),
        before_power=judged(loaded.profile if loaded else None, ticket, known_good),
        overruled=tuple(overruled_note(override) for override in ticket.overrides),
        corrected=_corrected(ticket, loaded.profile if loaded else None),
        before_time=tuple(before_time_note(made) for made in ticket.nows),
        first_light=tuple(pair for light in ticket.first_lights for pair in observed(light)),
        starts=tuple(_start(s) for s in so_far(starts_of_ticket(ticket.folder)).starts),
        owed=tuple(OwedFact(o.stage, o.what, o.reason, o.from_utc, o.failed) for o in owes),
        failed=(*_failed(stand.values()), *_failed_elsewhere(owes)),
        no_power=tuple(
            against_power(ticket, loaded.profile if loaded else None).values()
        ),
        photos=tuple(_photo(ticket, photo) for photo in ticket.photos),
        notes=ticket.notes,
        no_fix=ticket.no_fix,
        flaws=ticket.flaws,
        made_utc=iso(now),
        log=tuple((event.time_utc, event.by, note) for event, note in story(events)),
        runs=tuple((r.run_id, r.verdict.value, r.run.reason) for r in past_runs(ticket.folder)),
    )


def shop_facts(shop: Shop, language: Language) -> ShopFacts:
    """The shop in one language; raises BadInput where the logo cannot be read."""
    logo, kind = logo_bytes(shop)
    return ShopFacts(
        name=shop.name,
        address=shop.address,
        logo=logo,
        logo_kind=kind,
        warranty=shop.warranty_in(language),
        cautions=shop.cautions_in(language),
        paper=shop.paper,
        time_zone=shop.time_zone,
    )


def _corrected(ticket: WholeTicket, profile: Profile | None) -> tuple[Note, ...]:
    """What was taken back; what was a short then is called so."""
    wants = {want.point.name: want for want in wanted(profile, ticket)}

    def was_short(value: Measured | None) -> bool:
        want = wants.get(value.point) if value is not None else None
        return want is not None and value is not None and is_short(want, value)

    return tuple(correction_note(c, was_short=was_short(c.value)) for c in ticket.corrections)


def _failed(stages: Iterable[Proven]) -> Iterable[Reason]:
    for stage in stages:
        if stage.failed:
            outcome = stage.outcome
            title = stage_title(outcome.kind, outcome.own_title)
            yield VerdictReason.STAGE_BECAUSE(stage=title, reasons=outcome.reasons)


def _failed_elsewhere(owes: Iterable[Owes]) -> Iterable[Reason]:
    for owed in owes:
        if owed.what.means(TicketOwed.FAILED_ELSEWHERE):
            yield TicketReason.FAILED_ELSEWHERE(
                stage=owed.what["stage"], profile=owed.what["profile"], reason=owed.reason
            )


def _photo(ticket: WholeTicket, photo: Photo) -> PhotoFact:
    return PhotoFact(
        small_jpeg(ticket, photo) or b"",
        photo.note,
        photo.sha256,
        photo.original,
        photo.for_customer,
        is_whole(ticket, photo),
    )


def _start(start: Start) -> StartFact:
    return StartFact(
        began_utc=start.began_utc,
        off_s=start.off_s,
        cold=start.cold,
        why_not=start.why_not,
        reseated=start.reseated,
        judged=start.judged or "",
        reasons=start.reasons,
    )
