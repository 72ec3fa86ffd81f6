"""The shop's key vouches for a ticket's log: what was taken out or changed before is seen."""

from __future__ import annotations

from pathlib import Path

import pytest

from burnin.record.event_log import LogEvent, append
from burnin.ticket.log.store import LOG, add
from burnin.ticket.shop.log_head import FILE, vouch, why_not_vouched
from burnin.ticket.shop.meanings import LogHeadReason
from tests.ticket.tickets import at, ticket


def test_each_line_is_vouched_for_and_lines_that_follow_are_good(tmp_path: Path) -> None:
    there = add(ticket(tmp_path), "noted", {"text": "one"}, now=at(1))
    log = there.folder / LOG
    assert why_not_vouched(log) is None
    append(log, lambda _: [LogEvent("2026-03-02T12:00:00.000Z", "noted", "", {"text": "cut"})])
    assert why_not_vouched(log) is None


def test_a_log_made_anew_without_a_line_is_seen(tmp_path: Path) -> None:
    there = add(ticket(tmp_path), "repaired", {"what": "pads"}, now=at(1))
    log = there.folder / LOG
    head = (log.with_name(FILE)).read_bytes()
    log.unlink()
    kept = LogEvent("2026-03-02T09:15:00.000Z", "opened", "", {"number": "4711"})
    append(log, lambda _: [kept, LogEvent("2026-03-02T09:16:00.000Z", "noted", "", {"text": "x"})])
    found = why_not_vouched(log)
    assert found is not None
    assert found.means(LogHeadReason.LOG_CHANGED)
    log.with_name(FILE).write_bytes(head.replace(b'"lines": 2', b'"lines": 1'))
    assert why_not_vouched(log) == LogHeadReason.CHANGED(file=FILE)
    log.with_name(FILE).unlink()
    assert why_not_vouched(log) == LogHeadReason.MISSING(file=FILE)


def test_another_key_vouches_for_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    log = ticket(tmp_path).folder / LOG
    with monkeypatch.context() as elsewhere:
        elsewhere.setenv("BURNIN_SHOP", str(tmp_path / "other"))
        vouch(log)
    assert why_not_vouched(log) == LogHeadReason.OTHER_KEY(file=FILE)
    vouch(log)
    assert why_not_vouched(log) is None
