"""Logs that only grow, and what is signed beside them: tickets, starts, benches, handovers."""

from __future__ import annotations

import json
from collections.abc import Sequence
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from random import Random
from typing import Any

from burnin.cli.bench_lines import bench_json, bench_lines
from burnin.cli.ticket_lines import as_row, listing, step_lines, value_lines, whole_story
from burnin.core.errors import BadInput
from burnin.core.plain import plain
from burnin.core.proven_bench import ProvenOutput, ProvenRail
from burnin.record.reader import read_record
from burnin.report.languages.catalogue import catalogue
from burnin.report.ticket.customer import customer_sheet
from burnin.report.ticket.customer_pages import customer_page
from burnin.report.ticket.internal import internal_sheet
from burnin.report.ticket.internal_pages import internal_page
from burnin.report.ticket.ticket_facts import ShopFacts
from burnin.report.ticket.ticket_verdict import verdict_of
from burnin.run.proven.proof import Proof
from burnin.run.proven.shown import ProofAge
from burnin.stages.cold_starts.start_log import so_far
from burnin.ticket.handover.checking import check, find_fingerprint
from burnin.ticket.handover.facts_for_sheets import facts_of_ticket
from burnin.ticket.handover.handover import hand_over
from burnin.ticket.handover.records_judged import refusals
from burnin.ticket.handover.signing import sign_record
from burnin.ticket.log.store import read_ticket, ticket_at
from burnin.ticket.log.ticket_from_log import LOG
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.owed_work import stages_owed
from burnin.ticket.shop.log_head import why_not_vouched
from burnin.ticket.ticket_list import find_tickets, line_of, open_tickets
from tests.fuzz.formats import in_json, in_sealed_log, sealed
from tests.fuzz.mutators import mutate_bytes
from tests.fuzz.target import Files, Target
from tests.fuzz.targets.files import shop_at

NOW = datetime(2026, 3, 5, 12, 0, tzinfo=UTC)
SHOP = ShopFacts(name="Wrenfield Board Repair")
_AT = "2026-03-02T09:15:00Z"
EVENTS = "events.json"


def _event(kind: str, **fields: object) -> dict[str, Any]:
    return {"time_utc": _AT, "kind": kind, "by": "J. Wren", "fields": fields}


STORY: tuple[dict[str, Any], ...] = (
    _event(
        "opened",
        number="4711",
        customer="Ottilie Maro",
        card="Corvane Strata 9",
        fault="no image",
        promised="2026-03-10",
        profile="repaired_desktop",
        language="de",
        expedited=True,
        simulated=True,
        runs_listed=True,
    ),
    _event("corrected", customer="O. Maro", profile="desktop_air", expedited=False),
    _event("seen", where="B14-B15", what="missing", note="two pads"),
    _event("photo", file="p.jpg", sha256="0" * 64, original="e.jpg", note="x", for_customer=True),
    _event("repaired", what="donor pads", contacts=["B14", "B15"], patches=["back"], cured_utc=_AT),
    _event("measured", point="supply_12v", value=420.0, unit="Ω", uncertainty=1.0, file="v.csv"),
    _event("measured", point="B14", value=0.45, unit="V", uncertainty=0.01),
    _event("measured", point="B14-trace", value=None, unit="Ω"),
    _event("measured", point="B14-B15", value=9e6, unit="Ω", uncertainty=1e4),
    _event("measured", point="ground-back", value=0.1, unit="Ω", uncertainty=0.05),
    _event("overridden", point="supply_12v", reason="known"),
    _event("value_taken_back", point="B14", of_utc=_AT, reason="probe slipped"),
    _event("cure_corrected", repair=1, cured_utc="2026-03-04T00:00:00Z", reason="hours"),
    _event("repaired", what="donor pads", contacts=["B14", "B15"], patches=[], cured_utc=_AT),
    _event("repair_taken_back", repair=2, reason="entered twice"),
    _event("deferred", stage="thermal_ramp", reason="pads", from_utc="2026-03-12T00:00:00Z"),
    _event("undeferred", stage="thermal_ramp"),
    _event("deferred", stage="6-thermal_ramp", reason="pads", from_utc=""),
    _event("first_light", answers={"smoke": "no", "beeps": "1", "image DP-1": "yes"}),
    _event("noted", text="called"),
    _event("run_begun", run="20260302T091500Z-1a2b", simulated=True, other_card=False),
    _event("run_ended", run="20260302T091500Z-1a2b", verdict="pass", head="0" * 16),
    _event("run_now", reason="hurry", stages=["6-thermal_ramp"]),
    _event("bound", simulated=True, facts={"vendor_id": 1, "serial": "S", "outputs": ["DP-1"]}),
    _event("replaced", what="firmware", note="new", facts={"firmware": "2"}),
    _event("handed_over", folder="handover-x", verdict="pass", fingerprint="0" * 16),
)


def _story_seeds(room: Path) -> Sequence[Files]:
    repaired = (*STORY[:1], *STORY[2:])  # keeps the profile that asks for values before power
    closed = (*STORY, _event("no_fix", reason="gone"), _event("closed"))
    again = (*closed, _event("reopened"), _event("of_a_newer_tool", x=1))
    return [{EVENTS: json.dumps(one).encode()} for one in (STORY, repaired, closed, again)]


LAWFUL: dict[str, tuple[Any, ...]] = {
    "profile": ("desktop_air", "water_no_loop", "repaired_joint", "gone_profile", ""),
    "language": ("en", "de", "xx"),
    "what": ("missing", "torn", "bent", "smeared", "trace rebuilt", "core reballed", "cable"),
    "where": ("B14", "B14-B15", "B1-B82", "bracket", "board", "A1", "supply_12v"),
    "point": ("supply_12v", "core", "memory", "B14", "A16", "B14-trace", "B14-B15", "ground-back"),
    "value": (0.0, -0.0, 1e-9, 0.4, 3.3, 12.6, 420.0, 1e6, 1e12, -5.0, None),
    "unit": ("Ω", "V", "A", "°C", "F", ""),
    "uncertainty": (0.0, 1e-6, 0.01, 5.0, 1e9, None),
    "contacts": ([], ["B14"], ["A1", "A2", "A3"], ["B82"], ["B14", "B14"]),
    "patches": ([], ["back"], ["front", "back"]),
    "stage": ("thermal_ramp", "6-thermal_ramp", "memory", "link_soak", "no such stage"),
    "stages": ([], ["6-thermal_ramp"], ["memory", "memory"]),
    "verdict": ("pass", "fail", "conditional", "aborted"),
    "simulated": (True, False),
    "for_customer": (True, False),
    "expedited": (True, False),
    "runs_listed": (True, False),
    "other_card": (True, False),
    "answers": (
        {},
        {"smoke": "yes"},
        {"smoke": "no", "beeps": "3", "image DP-1": "no"},
        {"image HDMI-1": "yes", "picture DP-1": "no"},
    ),
    "text": ("", "O_O", "smells burnt at the lower fan", "x" * 2000),
    "note": ("", "after the drop", "Kühler lose"),
}
"""Words, values and places that a story may hold, by field: what most of a ticket's log is."""
_TIMES = (_AT, "2026-03-01T00:00:00Z", "2026-03-06T23:59:59Z", "2027-01-01T00:00:00Z")


def _in_story(rng: Random, data: bytes, others: Sequence[bytes]) -> bytes:
    """Other stories that could have been told, or a change that no tool would have written."""
    if rng.random() < _UNLAWFUL_SHARE:
        return in_sealed_log(rng, data, others)
    try:
        events = json.loads(data)
        for _ in range(rng.choice((1, 1, 2, 4))):
            _retold(rng, events, rng.choice((*STORY, *events)))
    except (ValueError, RecursionError, TypeError, KeyError, AttributeError, IndexError):
        return in_sealed_log(rng, data, others)
    return json.dumps(events).encode()


def _retold(rng: Random, events: list[Any], from_another: Any) -> None:
    """One event gone, added, moved, at another time, or told with another lawful value."""
    at = rng.randrange(1, len(events))
    way = rng.randrange(7)
    if way == 0 and len(events) > _FEW:
        del events[at]
    elif way == 1 and len(events) < _MANY:
        events.insert(at, from_another)
    elif way == 2:
        events.insert(rng.randrange(1, len(events)), events.pop(at))
    elif way == 3:
        events[at] = {**events[at], "time_utc": rng.choice(_TIMES)}
    else:
        fields = events[at]["fields"]
        known = sorted(fields.keys() & LAWFUL.keys())
        if known:
            name = rng.choice(known)
            events[at] = {**events[at], "fields": {**fields, name: rng.choice(LAWFUL[name])}}


_UNLAWFUL_SHARE, _FEW, _MANY = 0.3, 3, 60


def _laid(room: Path, given: Files) -> None:
    """The story sealed into a ticket's log."""
    log = room / "4711" / LOG
    log.parent.mkdir(parents=True, exist_ok=True)
    try:
        events = json.loads(given[EVENTS])
        log.write_bytes(sealed(events))
    except (ValueError, RecursionError, TypeError, KeyError, AttributeError) as error:
        raise BadInput("no story") from error


def _story(room: Path, given: Files) -> None:
    _laid(room, given)
    ticket = ticket_at(room / "4711")
    if ticket is None:
        raise BadInput("never opened")
    _tell(room, ticket)


def _tell(room: Path, ticket: WholeTicket) -> None:
    """Everything that commands tell of a ticket."""
    with shop_at(room / "shop"):
        words = catalogue("en")
        line = line_of(ticket, NOW)
        list(step_lines(ticket, words))
        list(whole_story(ticket, words))
        list(listing([line], words))
        json.dumps(as_row(line, words))
        stages_owed(ticket, now=NOW)
        facts = facts_of_ticket(ticket, NOW, ticket)
        list(value_lines(facts.before_power, words))
        refusals(ticket)


def _sheets(room: Path, given: Files) -> None:
    """Both sheets of a ticket, as pages."""
    _laid(room, given)
    ticket = ticket_at(room / "4711")
    if ticket is None:
        raise BadInput("never opened")
    with shop_at(room / "shop"):
        facts = facts_of_ticket(ticket, NOW)
        verdict, _ = verdict_of(facts, None)
        customer_page(customer_sheet(facts, None, SHOP, "de"), SHOP, facts.photos)
        internal_page(internal_sheet(facts, None, SHOP, "0" * 16), "", verdict)


def _log_seeds(room: Path) -> Sequence[Files]:
    whole = sealed(list(STORY))
    return [{f"4711/{LOG}": whole}, {f"4711/{LOG}": whole[:-40]}, {f"4711/{LOG}": b""}]


def _log(room: Path, given: Files) -> None:
    """A ticket's log as bytes, listed and searched as well."""
    with shop_at(room / "shop"):
        open_tickets(room, NOW)
        find_tickets(room, "maro corvane", NOW)
        read_ticket(room, "4711")


def _starts_seeds(room: Path) -> Sequence[Files]:
    why = {"code": "cold_start_first"}
    begun = _event("begun", boot_id="b1", uptime_s=40.0, off_s=None, cold=False, why_not=why)
    events = [
        begun,
        _event("alive", boot_id="b1"),
        _event("judged", boot_id="b1", verdict="pass", reasons=[]),
        _event("begun", boot_id="b2", uptime_s=9.0, off_s=600.0, cold=True, reseated=True),
        _event("judged", boot_id="b2", verdict="fail", reasons=[why]),
    ]
    return [{EVENTS: json.dumps(events).encode()}]


def _starts(room: Path, given: Files) -> None:
    path = room / "cold_starts.jsonl"
    path.write_bytes(_sealed(given))
    found = so_far(path)
    assert len(found.counted) + len(found.failed) + len(found.hung) + found.reseats >= 0


def _sealed(given: Files) -> bytes:
    try:
        return sealed(json.loads(given[EVENTS]))
    except (ValueError, RecursionError, TypeError, KeyError, AttributeError) as error:
        raise BadInput("no events") from error


def _bench_seeds(room: Path) -> Sequence[Files]:
    proof = Proof(
        run_id="20260302T091500Z-1a2b",
        record="results/x",
        sha256="0" * 64,
        started_utc=_AT,
        card="Corvane Strata 9",
        width_lanes=16,
        speed_gts=16.0,
        card_lanes=16,
        card_gts=16.0,
        port_lanes=16,
        port_gts=32.0,
        error_rate_bound=1e-12,
        to_card_gbs=25.0,
        to_host_gbs=24.0,
        ambient_c=22.0,
        supply_w=300.0,
        rails=(ProvenRail("12V", 12.08),),
        outputs=(ProvenOutput("DP-1", "blue"),),
        boot_id="b1",
    )
    kept = plain(proof)
    assert isinstance(kept, dict)
    events = [_event("proven", **kept), _event("started", boot_id="b2")]
    gone = [*events, _event("forgotten")]
    return [{EVENTS: json.dumps(one).encode()} for one in (events, gone)]


def _bench(room: Path, given: Files) -> None:
    path = room / "bench" / "0123456789abcdef_0000-00-01.0.jsonl"
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(_sealed(given))
    words, age = catalogue("en"), ProofAge(30.0, 50)
    list(bench_lines(room, age, words, NOW))
    bench_json(room, age, NOW)


def _signed_seeds(room: Path) -> Sequence[Files]:
    """A ticket that was handed over, its records signed, its log vouched for."""
    from tests.ticket.tickets import at, run_of, ticket

    results = room / "results"
    with shop_at(room / "shop"):
        there = ticket(results, profile="desktop_air")
        run = run_of(there, 1.0)
        sign_record(run)
        made = hand_over(read_ticket(results, "4711"), now=at(3.0), by="J. Wren")
    kept = (*run.glob("*"), *made.folder.glob("*"), *there.folder.glob("ticket/*"))
    files = {p.relative_to(results).as_posix(): p.read_bytes() for p in kept if p.is_file()}
    papers = {name: content[:2000] for name, content in files.items() if name.endswith(".pdf")}
    return [{**files, **papers}]


def _signed(room: Path, given: Files) -> None:
    with shop_at(room / "shop"):
        for path in sorted(room.glob("4711/*/checksums.sha256")):
            check(path.parent)
        if (room / "4711" / LOG).exists():
            why_not_vouched(room / "4711" / LOG)
        with suppress(BadInput):
            find_fingerprint(room, "0" * 16)
        refusals(read_ticket(room, "4711"))
        for path in sorted(room.glob("4711/*/run.json")):
            read_record(path.parent)


_BY_NAME, _BY_STORY = {EVENTS: in_sealed_log}, {EVENTS: _in_story}

TARGETS = (
    Target("ticket_log", _log_seeds, _log, usual=mutate_bytes),
    Target("ticket_story", _story_seeds, _story, by_name=_BY_STORY, writes=True),
    Target("ticket_sheets", _story_seeds, _sheets, inputs=50_000, by_name=_BY_STORY, writes=True),
    Target("cold_starts", _starts_seeds, _starts, by_name=_BY_NAME, writes=True),
    Target("bench_log", _bench_seeds, _bench, by_name=_BY_NAME, writes=True),
    Target("signed", _signed_seeds, _signed, inputs=50_000, by_name={"signature.json": in_json}),
)
