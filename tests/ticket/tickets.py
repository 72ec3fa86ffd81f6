"""Tickets and a profile for the tests of the repair."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path

from pydantic import TypeAdapter

from burnin.core.clock import iso
from burnin.core.verdict import OwedWhat, RunVerdict, stage_title
from burnin.profile.before_power import BeforePower
from burnin.profile.loader import load_profile
from burnin.profile.model import Profile
from burnin.record.reasons import RecordReason
from burnin.report.languages.catalogue import catalogue
from burnin.ticket.log.store import open_ticket
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.runs_on_ticket import RunBegins, begun, ended
from tests.report import records

say = catalogue("en").say
"""The English words of a meaning."""
sagen = catalogue("de").say
"""The German ones."""

START = datetime(2026, 3, 2, 9, 15, tzinfo=UTC)

BEFORE_POWER: list[Mapping[str, object]] = [
    {
        "measure": "supply",
        "name": "supply_12v",
        "title": "12 V supply to ground",
        "short_below_ohm": 5.0,
        "at_least_ohm": 50.0,
    },
    {
        "measure": "supply",
        "name": "supply_core",
        "title": "Core supply to ground",
        "short_below_ohm": 0.05,
        "at_least_ohm": 0.15,
    },
    {
        "measure": "diode",
        "contacts": ("B14", "B15"),
        "at_least_v": 0.2,
        "at_most_v": 0.8,
        "twin_within_v": 0.05,
    },
    {
        "measure": "repaired_pads",
        "continuity_at_most_ohm": 1.0,
        "isolation_at_least_ohm": 1000.0,
    },
    {"measure": "exposed_copper", "at_most_ohm": 1.0},
]


def at(hours: float) -> datetime:
    """A moment some hours after the start."""
    return START + timedelta(hours=hours)


def profile() -> Profile:
    """The desktop profile with values to take before power."""
    loaded = load_profile("desktop_air").profile
    entries = TypeAdapter(tuple[BeforePower, ...]).validate_python(tuple(BEFORE_POWER))
    return loaded.model_copy(update={"before_power": entries})


def ticket(results: Path, number: str = "4711", **intake: str) -> WholeTicket:
    """An open ticket of our own scenario, about the simulated machine as its records are."""
    fields = {
        "customer": "Ottilie Maro",
        "card": "Corvane Strata 9",
        "fault": "no image after a fall",
        "promised": "2026-03-10",
        **intake,
    }
    return open_ticket(results, number, fields, simulated=True, by="J. Wren", now=START)


_NOT_MEASURED: dict[str, object] = {"value": "", "verdict": "not measured", "reason": "test"}


def _failed(row: Mapping[str, object]) -> dict[str, object]:
    """A reading's row with a value that its limit does not permit."""
    upper = row["upper_limit"]
    value = float(upper) + 3.0 if isinstance(upper, int | float) else "other"
    return {"value": value, "verdict": "fail", "reason": "test"}


def run_of(
    there: WholeTicket,
    hours: float,
    *,
    name: str = "desktop_air",
    taken_over: str = "",
    **verdicts: str,
) -> Path:
    """A record of a run of the ticket, some hours after the start; verdicts by stage's number.

    For example ``s6="not measured"``: the sixth stage was not carried out. `taken_over` names a
    stage that another run showed.
    """
    loaded = load_profile(name)
    draft = records.passed()
    draft.samples = draft.samples[::40]
    moment = at(hours)
    run_id = f"{moment:%Y%m%dT%H%M%SZ}-t"
    draft.facts |= {"run_id": run_id, "started_utc": iso(moment), "ended_utc": iso(at(hours + 0.2))}
    draft.facts["profile"] |= {"name": name, "sha256": loaded.sha256, "text": loaded.text}
    for key, verdict in verdicts.items():
        stage = draft.facts["stages"][int(key[1:]) - 1]
        reason = RecordReason.WORDS_OF_FORMAT_1(words=f"{verdict} for the test")
        stage |= {"verdict": verdict, "reasons": [reason]}
        rows = [r for r in draft.readings if r["stage"] == stage["stage"]]
        for row in rows[:1] if verdict == "fail" else rows:
            row |= _failed(row) if verdict == "fail" else _NOT_MEASURED
        whole = "fail" if verdict == "fail" else "conditional"
        if draft.facts["verdict"] != "fail":
            draft.facts["verdict"] = whole
        if whole == "conditional":
            what = OwedWhat.STAGE(stage=stage_title(stage["kind"], stage["own_title"]))
            draft.owes(what, reason, stage["stage"])
    for stage in draft.facts["stages"]:
        if stage["stage"] == taken_over:
            stage["taken_over"] = True
    draft.facts["ticket"] = {**draft.facts["ticket"], "number": there.number}
    begun(there.folder, RunBegins(run_id, simulated=True, card=None), now=moment)
    folder = draft.write(there.folder / run_id)
    verdict = RunVerdict(draft.facts["verdict"])
    ended(there.folder, run_id, folder, verdict, now=at(hours + 0.2))
    return folder
