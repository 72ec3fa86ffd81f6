"""Logs that older tools wrote are read as they were meant, and go on as they are."""

from __future__ import annotations

from pathlib import Path

from burnin.record.event_log import LogEvent, append
from burnin.ticket.before_power.judging import judged
from burnin.ticket.before_power.meanings import BeforePowerSource
from burnin.ticket.before_power.power_gate import may_power
from burnin.ticket.event_notes import event_note
from burnin.ticket.log.store import read_ticket
from burnin.ticket.log.ticket_from_log import LOG
from burnin.ticket.log.whole_ticket import SMOKE
from burnin.ticket.meanings import EventNote, TicketReason
from burnin.ticket.put_off import stages_put_off
from tests.ticket.tickets import at, profile, sagen, say

TIMES = [f"2026-03-02T{hour:02d}:00:00.000Z" for hour in range(9, 19)]
VALUE = {"value": 420.0, "unit": "Ω", "uncertainty": 5.0}
EVENTS: list[tuple[str, dict[str, object]]] = [
    ("opened", {"number": "4711", "customer": "Ottilie Maro", "expedited": True}),
    ("measured", {"point": "supply_12v", **VALUE, "source": "by hand"}),
    ("measured", {"point": "supply_core", **VALUE, "source": "values.csv"}),
    ("first_light", {"answers": {"smoke": "yes"}, "ended_at_once": True}),
    ("overridden", {"point": "smell or smoke", "reason": "dust on the heatsink"}),
    ("deferred", {"stage": "memory", "reason": "no time today", "from_utc": ""}),
    ("polished", {"with": "a cloth"}),
]


def older(results: Path) -> None:
    """A log as it was written when sentences stood for points and sources."""
    events = [
        LogEvent(time_utc, kind, "J. Wren", fields)
        for time_utc, (kind, fields) in zip(TIMES, EVENTS, strict=False)
    ]
    append(results / "4711" / LOG, lambda _: events)


def test_values_overrulings_and_deferrals_are_typed(tmp_path: Path) -> None:
    older(tmp_path)
    there = read_ticket(tmp_path, "4711")
    found = {r.name: r for r in judged(profile(), there)}
    assert found["supply_12v"].source == BeforePowerSource.TYPED_BY(by="J. Wren")
    assert found["supply_core"].source == BeforePowerSource.FROM_FILE_BY(
        file="values.csv", by="J. Wren"
    )
    assert [(o.point, o.words) for o in there.overrides] == [(SMOKE, "dust on the heatsink")]
    assert may_power(there, profile()) is None
    (off,) = stages_put_off(there, profile(), at(2)).values()
    assert off.told() == TicketReason.PUT_OFF(words="no time today")


def test_every_line_has_words_in_both_languages(tmp_path: Path) -> None:
    older(tmp_path)
    notes = [event_note(LogEvent("", kind, "", fields)) for kind, fields in EVENTS]
    assert [say(note) for note in notes] == [
        "opened: number 4711; customer Ottilie Maro; expedited yes",
        "measured: point supply_12v; value 420; unit Ω; uncertainty 5; source by hand",
        "measured: point supply_core; value 420; unit Ω; uncertainty 5; source values.csv",
        "first light: Smell or smoke yes; ended at once yes",
        "overruled: point smell or smoke; reason dust on the heatsink",
        "put off: stage Memory; reason no time today",
        "polished: with a cloth",
    ]
    assert notes[-1].means(EventNote.OF_NEWER_TOOL)
    assert sagen(notes[0]) == "angenommen: Nummer 4711; Kunde Ottilie Maro; eilig ja"
    assert sagen(notes[3]) == "erstes Einschalten: Geruch oder Rauch ja; sofort beendet ja"
