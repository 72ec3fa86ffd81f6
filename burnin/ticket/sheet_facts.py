"""A ticket as the sheets take it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from burnin.core.clock import iso
from burnin.profile.model import Profile
from burnin.record.event_log import LogEvent, read_log
from burnin.report.figures import moment_text
from burnin.report.ticket.ticket_facts import (
    OwedFact,
    PhotoFact,
    RepairFact,
    SeenFact,
    ShopFacts,
    StartFact,
    TicketFacts,
)
from burnin.stages.cold_starts.start_log import FILE, Start, so_far
from burnin.ticket.before_power.values import judged
from burnin.ticket.dates import in_words
from burnin.ticket.first_light import beeps_text
from burnin.ticket.owed import owed_now, profile_of_ticket, standing
from burnin.ticket.photos import is_whole, small_jpeg
from burnin.ticket.proof import past_runs, runs_that_count
from burnin.ticket.shop import Language, Shop, logo_bytes
from burnin.ticket.store import LOG
from burnin.ticket.whole_ticket import FirstLight, WholeTicket

_FIRST_LIGHT = {
    "smoke": "Smell or smoke",
    "beeps": "Beeps",
    "fans": "Fans turn",
    "time_to_image_s": "Time to the first image (s)",
    "current_a": "Current (A)",
}


def facts_of_ticket(
    ticket: WholeTicket, now: datetime, known_good: WholeTicket | None = None
) -> TicketFacts:
    """Everything that a ticket's sheets say besides the record."""
    runs = runs_that_count(ticket)
    loaded = profile_of_ticket(ticket, runs)
    profile: Profile | None = loaded.profile if loaded else None
    starts = so_far(ticket.folder / "ticket" / FILE).starts
    return TicketFacts(
        number=ticket.number,
        intake=dict(ticket.intake),
        opened_utc=ticket.opened_utc,
        expedited=ticket.expedited,
        seen=tuple(SeenFact(d.where, d.what, d.note) for d in ticket.damage),
        repairs=tuple(
            RepairFact(r.what, r.contacts, r.time_utc, r.cured_utc, r.by) for r in ticket.repairs
        ),
        before_power=judged(profile, ticket, known_good),
        overruled=tuple(
            f"{o.point}: {o.reason} ({o.by or 'unnamed'}, {o.time_utc})" for o in ticket.overrides
        ),
        first_light=tuple(pair for light in ticket.first_lights for pair in _first_light(light)),
        starts=tuple(_start(start) for start in starts),
        owed=tuple(
            OwedFact(o.stage, o.what, o.reason, o.from_utc, o.failed)
            for o in owed_now(ticket, loaded, now)
        ),
        failed=tuple(
            f"{stage.outcome.title}: {stage.outcome.reason}"
            for stage in (standing(ticket, loaded, runs, now) if loaded else {}).values()
            if stage.outcome.verdict == "fail"
        )
        + tuple(
            f"{o.what.removesuffix(': failed, repair it')}: {o.reason}"
            for o in owed_now(ticket, loaded, now)
            if o.failed and not o.stage
        ),
        photos=tuple(
            PhotoFact(
                small_jpeg(ticket, p) or b"",
                p.note,
                p.sha256,
                p.original,
                p.for_customer,
                is_whole(ticket, p),
            )
            for p in ticket.photos
        ),
        notes=ticket.notes,
        no_fix=ticket.no_fix,
        flaws=ticket.flaws,
        made_utc=iso(now),
        log=tuple(in_words_of(event) for event in read_log(ticket.folder / LOG).events),
        runs=tuple(
            (run.run_id, run.verdict, str(run.facts.get("reason", "")))
            for run in past_runs(ticket.folder)
        ),
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


def in_words_of(event: LogEvent) -> tuple[str, str, str]:
    """One event of the log: moment, who, and what, in a line of words."""
    parts = [f"{name} {_shown(value)}" for name, value in event.fields.items() if value]
    told = f"{event.kind.replace('_', ' ')}: {'; '.join(parts)}" if parts else event.kind
    return event.time_utc, event.by, told


def _shown(value: object) -> str:
    if isinstance(value, Mapping):
        return ", ".join(f"{k} {v}" for k, v in value.items())
    if isinstance(value, list):
        return ", ".join(str(v) for v in value)
    return "yes" if value is True else str(value)


def _first_light(light: FirstLight) -> list[tuple[str, str]]:
    found = [("When", moment_text(light.time_utc))]
    for key, answer in light.answers.items():
        label = _FIRST_LIGHT.get(key, key.replace("image ", "Image on "))
        found.append((label, beeps_text(answer) if key == "beeps" else answer))
    if light.ended_at_once:
        found.append(("Ended", "at once: smell or smoke"))
    return found


def _start(start: Start) -> StartFact:
    off = "nobody saw it" if start.off_s is None else in_words(start.off_s)
    counts = "yes" if start.cold else start.why_not
    if start.reseated:
        counts += ", after a reseat"
    judged_as = f"{start.judged}: {start.reason}" if start.reason else start.judged
    return StartFact(start.began_utc, off, counts, judged_as)
