"""Seen: one damaged packet was told by five counters (receiver error, bad DLLP, bad TLP, LCRC, NAK
sent): five errors, and a sound card's run conditional."""

from __future__ import annotations

from pathlib import Path

import pytest

from burnin.core.decision import RuleTerm
from burnin.core.reading import Reading, Verdict
from burnin.core.verdict import RunVerdict
from burnin.report.languages.catalogue import catalogue
from burnin.stages.link.meanings import LinkReason
from burnin.stages.meanings import StagesReason
from tests.others.seen.counting import run_with
from tests.run.driving import Ran

FIVE = ("receiver error", "bad DLLP", "bad TLP", "LCRC error", "NAKs sent")


def readings(ran: Ran) -> dict[str, Reading]:
    return {r.name: r for r in ran.record.readings}


def test_one_packet_told_by_five_counters_is_one_event(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    ran = run_with(monkeypatch, tmp_path, {("card", name): 1 for name in FIVE})
    found = readings(ran)
    assert found["new_link_errors"].value == 1.0
    assert found["link_errors to_card"].value == 1.0
    assert found["link_errors to_host"].value == 0.0
    assert ran.outcome.verdict is RunVerdict.PASS
    shown = [e for e in ran.record.events("Noted") if "link_counters" in str(e.detail)]
    assert all(f"card {name}" in str(shown[-1].detail) for name in FIVE), "each is shown"


@pytest.mark.parametrize(
    ("events", "verdict"), [(10, RunVerdict.PASS), (21, RunVerdict.PASS), (60, RunVerdict.FAIL)]
)
def test_errors_are_judged_by_what_the_traffic_would_give(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, events: int, verdict: RunVerdict
) -> None:
    """Ninety seconds move 1.5e13 bits to the card: 1e-12 a bit gives about fifteen.

    21 events allow a mean of 14.1 still, 60 one of 47.9 at least (95 %, χ² tables).
    """
    ran = run_with(monkeypatch, tmp_path, {("card", "bad TLP"): events}, load_s=90.0)
    found = readings(ran)["link_errors to_card"]
    assert found.limit is not None
    assert found.limit.upper == pytest.approx(15.0, abs=0.3)
    assert found.value == float(events)
    assert found.rule is not None
    assert found.rule.means(RuleTerm.POISSON)
    assert ran.outcome.verdict is verdict
    told = catalogue("en").say(found.source)
    assert "no sign of more than 1e-12 a bit" in told
    assert "only a soak shows less" in told


def test_the_other_way_has_its_own_count(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A refusal that the card got, and a packet sent again, tell of the way from it."""
    ran = run_with(
        monkeypatch, tmp_path, {("card", "NAKs received"): 40, ("card", "replays"): 40}
    )
    found = readings(ran)
    assert found["link_errors to_host"].value == 40.0
    assert found["link_errors to_host"].verdict is Verdict.FAIL
    assert found["link_errors to_card"].value == 0.0
    assert found["link_errors to_card"].verdict is Verdict.PASS


def test_a_sum_line_counts_nothing_again(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    under = {("card", "bad TLP"): 1, ("card", "correctable errors"): 30}
    ran = run_with(monkeypatch, tmp_path, under)
    assert readings(ran)["new_link_errors"].value == 1.0
    assert ran.outcome.verdict is RunVerdict.PASS


@pytest.mark.parametrize(
    ("before", "under", "code"),
    [(17, 3, StagesReason.COUNTER_RESTARTED), (2**32 - 1, 2**32 - 1, StagesReason.COUNTER_FULL)],
)
def test_a_counter_that_broke_off_shows_no_zero(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, before: int, under: int, code: StagesReason
) -> None:
    counter = ("card", "bad TLP")
    ran = run_with(monkeypatch, tmp_path, {counter: under}, before={counter: before})
    found = readings(ran)["link_errors to_card"]
    assert found.verdict is Verdict.NOT_MEASURED
    assert found.reason is not None
    assert found.reason.means(code)
    assert ran.outcome.verdict is RunVerdict.CONDITIONAL


def test_an_error_of_no_bit_is_named_and_no_pass(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    ran = run_with(monkeypatch, tmp_path, {("card", "corrected internal (correctable)"): 2})
    found = readings(ran)
    assert found["new_link_errors"].value == 0.0
    beside = found["other_link_errors"]
    assert beside.reason is not None
    assert beside.reason.means(LinkReason.BESIDE_THE_WIRE)
    assert ran.outcome.verdict is RunVerdict.CONDITIONAL
