"""The shop's key vouches for a ticket's log: what was taken out, put in or changed is seen."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from burnin.core.errors import BadInput
from burnin.record import event_log
from burnin.record.event_log import LogEvent, append
from burnin.ticket.handover.records_judged import refusals
from burnin.ticket.log.store import add, read_ticket
from burnin.ticket.log.ticket_from_log import LOG
from burnin.ticket.shop.log_head import FILE, vouching, why_not_vouched
from burnin.ticket.shop.meanings import LogHeadReason
from tests.ticket.tickets import at, ticket

FORGED = LogEvent("2026-03-02T12:00:00.000Z", "noted", "", {"text": "forged"})


def test_each_line_is_vouched_for(tmp_path: Path) -> None:
    there = add(ticket(tmp_path), "noted", {"text": "one"}, now=at(1))
    assert why_not_vouched(there.folder / LOG) is None


def test_a_line_that_somebody_put_in_is_seen_and_never_vouched_for(tmp_path: Path) -> None:
    there = add(ticket(tmp_path), "noted", {"text": "one"}, now=at(1))
    log = there.folder / LOG
    append(log, lambda _: [FORGED])
    added = LogHeadReason.LINES_ADDED(file=FILE, lines_count=2, more_count=1)
    assert why_not_vouched(log) == added
    # The next honest line is kept, and makes nothing good of what came before it.
    add(read_ticket(tmp_path, "4711"), "noted", {"text": "two"}, now=at(5))
    assert why_not_vouched(log) == LogHeadReason.LINES_ADDED(file=FILE, lines_count=2, more_count=2)
    assert refusals(read_ticket(tmp_path, "4711"))


def test_a_log_that_was_cut_short_is_seen(tmp_path: Path) -> None:
    there = add(ticket(tmp_path), "noted", {"text": "one"}, now=at(1))
    log = there.folder / LOG
    whole = log.read_bytes()
    log.write_bytes(whole[: whole.index(b"\n") + 1])
    shorter = LogHeadReason.LOG_SHORTER(lines_count=2, there_count=1)
    assert why_not_vouched(log) == shorter
    log.write_bytes(b"")
    assert why_not_vouched(log) == LogHeadReason.LOG_SHORTER(lines_count=2, there_count=0)


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
    # Nor does an honest line bring a head back that somebody took away.
    add(read_ticket(tmp_path, "4711"), "noted", {"text": "two"}, now=at(5))
    assert why_not_vouched(log) == LogHeadReason.MISSING(file=FILE)


def test_another_key_vouches_for_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as elsewhere:
        elsewhere.setenv("BURNIN_SHOP", str(tmp_path / "other"))
        there = ticket(tmp_path)
    log = there.folder / LOG
    add(there, "noted", {"text": "here"}, now=at(1))
    # This bench has no key of its own yet, then one that is not the log's.
    vouching(log)([], ["0" * 16])
    add(there, "noted", {"text": "here"}, now=at(1))
    from burnin.ticket.shop.shop_key import shop_key

    shop_key()
    assert why_not_vouched(log) == LogHeadReason.OTHER_KEY(file=FILE)


class PowerCut(Exception):
    """The power goes."""


@pytest.mark.parametrize("written", [0, 40, 10_000])
def test_whenever_the_power_is_cut_somebody_vouches_for_the_log(
    written: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    there = ticket(tmp_path)
    log = there.folder / LOG

    def cut(handle: int, text: bytes, *_: object) -> None:
        os.write(handle, text[:written])
        raise PowerCut

    with monkeypatch.context() as power:
        power.setattr(event_log, "write_all", cut)
        with pytest.raises(PowerCut):
            add(there, "noted", {"text": "as the power went"}, now=at(1))
    assert why_not_vouched(log) is None
    after = add(read_ticket(tmp_path, "4711"), "noted", {"text": "and back"}, now=at(2))
    assert why_not_vouched(log) is None
    assert after.notes[-1][2] == "and back"


def test_a_key_that_cannot_be_used_costs_no_line(tmp_path: Path, shop: Path) -> None:
    there = ticket(tmp_path)
    (shop / "shop-key.pem").chmod(0o644)
    assert add(there, "noted", {"text": "kept"}, now=at(1)).notes[-1][2] == "kept"
    with pytest.raises(BadInput):
        why_not_vouched(there.folder / LOG)
