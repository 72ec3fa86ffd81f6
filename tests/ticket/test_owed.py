"""What a ticket owes, from when, and what a run of it must carry out."""

from __future__ import annotations

from pathlib import Path

import pytest

from burnin.cli.ticket_lines import folded, owed_lines
from burnin.core.identity import Identity
from burnin.core.meaning import Term
from burnin.core.reading import NotMeasured
from burnin.core.verdict import OwedWhat, StageVerdict
from burnin.profile.loader import load_profile
from burnin.report.languages.catalogue import catalogue
from burnin.ticket.before_power.meanings import BeforePowerReason
from burnin.ticket.bound_card.facts import facts_of
from burnin.ticket.intake.repairs import add_repair
from burnin.ticket.log.store import add, read_ticket
from burnin.ticket.log.whole_ticket import SMOKE
from burnin.ticket.meanings import TicketNote, TicketOwed, TicketReason
from burnin.ticket.owed_work import owed_now, stages_owed
from burnin.ticket.proven.card_of_ticket import unlike
from burnin.ticket.proven.meanings import ProvenSource
from burnin.ticket.put_off import put_off_stage
from burnin.ticket.ticket_for_run import ticket_for_run
from tests.ticket.tickets import at, run_of, sagen, say, ticket

ALL = [
    "1-enumeration",
    "2-display",
    "3-link",
    "4-memory",
    "5-compute",
    "6-thermal_ramp",
    "7-link",
]


def card(device_id: int) -> Identity:
    """A card whose serial nobody can read, as `tests.report.records` has it on record."""
    unread = NotMeasured(TicketReason.NOT_CARRIED_OUT_YET())
    return Identity(
        address="0000:01:00.0",
        vendor_id=0xF5A7,
        device_id=device_id,
        subsystem_vendor_id=0xF5A7,
        subsystem_id=0x0901,
        revision=161,
        class_code=0x030000,
        name="Corvane Strata 9",
        vendor_name="Corvane",
        driver="strata",
        driver_version="6.1.0",
        firmware_version="94.02.71",
        memory_bytes=24 << 30,
        serial=unread,
        uuid=unread,
        bars=(),
        simulated=True,
    )


@pytest.fixture(scope="module")
def loaded_stages() -> list[str]:
    """Names of the stages that desktop_air has."""
    stages = load_profile("desktop_air").profile.stages
    return [f"{n}-{s.stage}" for n, s in enumerate(stages, start=1)]


def test_a_ticket_without_a_run_owes_a_whole_run(tmp_path: Path, loaded_stages: list[str]) -> None:
    there = ticket(tmp_path, profile="desktop_air")
    assert OwedWhat.WHOLE_RUN() in [o.what for o in owed_now(there)]
    assert stages_owed(there) == loaded_stages


def test_what_passed_is_not_owed_and_not_done_again(tmp_path: Path) -> None:
    there = ticket(tmp_path, profile="desktop_air")
    run_of(there, 1)
    assert owed_now(there, now=at(2)) == ()
    assert stages_owed(there, now=at(2)) == []
    found = ticket_for_run(tmp_path, "4711", None, at(2), simulated=True)
    assert found is not None
    assert found.nothing_owed
    assert set(found.earlier.outcomes) == set(ALL)
    source = found.earlier.readings["3-link"][0].source
    assert source == ProvenSource.FROM_RUN_ALONE(run="20260302T101500Z-t")
    assert found.profile == "desktop_air"
    assert found.ticket.customer == "Ottilie Maro"


def test_an_open_stage_alone_is_owed_and_a_later_run_does_just_that(tmp_path: Path) -> None:
    there = ticket(tmp_path, profile="desktop_air")
    run_of(there, 1, s6="not measured")
    owes = owed_now(there, now=at(2))
    assert [o.what for o in owes] == [OwedWhat.STAGE(stage=Term("stage_thermal_ramp"))]
    assert [(o.stage, say(o.reason)) for o in owes] == [
        ("6-thermal_ramp", "not measured for the test")
    ]
    assert stages_owed(there, now=at(2)) == ["6-thermal_ramp"]
    found = ticket_for_run(tmp_path, "4711", None, at(2), simulated=True)
    assert found is not None
    assert "6-thermal_ramp" not in found.earlier.outcomes
    assert len(found.earlier.outcomes) == 6
    run_of(there, 3)
    assert owed_now(there, now=at(4)) == ()


def test_a_simulated_run_proves_nothing_of_a_real_card(tmp_path: Path) -> None:
    run_of(ticket(tmp_path, profile="desktop_air"), 1)
    found = ticket_for_run(tmp_path, "4711", None, at(2), simulated=False)
    assert found is not None
    assert found.earlier.outcomes == {}


def test_another_card_proves_nothing_of_this_one(tmp_path: Path) -> None:
    there = ticket(tmp_path, profile="desktop_air")
    run_of(there, 1)
    there = read_ticket(tmp_path, "4711")
    # The same numbers are the same card, though this one tells its serial; another device is not.
    assert unlike(there, facts_of(card(0x0009)), simulated=True) == ()
    differs = unlike(there, facts_of(card(0x0008)), simulated=True)
    assert [say(term) for term in differs] == ["device number was 0009 and is 0008"]
    found = ticket_for_run(tmp_path, "4711", None, at(2), simulated=True, differs=differs)
    assert found is not None
    assert found.earlier.outcomes == {}
    assert TicketNote.OTHER_CARD(differs=differs) in found.notes


def test_what_failed_stays_failed_until_a_repair(tmp_path: Path) -> None:
    there = ticket(tmp_path, profile="desktop_air")
    run_of(there, 1, s4="fail")
    run_of(there, 2)
    assert [o.stage for o in owed_now(there, now=at(3))] == ["4-memory"]
    owed = owed_now(there, now=at(3))[0]
    assert owed.what.means(TicketOwed.FAILED_STAGE)
    assert say(owed.what).endswith("failed, repair it")
    found = ticket_for_run(tmp_path, "4711", None, at(3), simulated=True)
    assert found is not None
    assert found.earlier.outcomes["4-memory"].verdict is StageVerdict.FAIL
    mended = add_repair(there, "memory chip reballed", now=at(4))
    assert stages_owed(mended, now=at(5)) == ALL
    run_of(there, 6)
    assert owed_now(mended, now=at(7)) == ()


def test_a_stage_put_off_is_owed_with_its_reason_and_its_day(tmp_path: Path) -> None:
    there = ticket(tmp_path, profile="desktop_air")
    there = put_off_stage(there, "thermal_ramp", "no loop attached", "24h", now=at(0))
    run_of(there, 1, s6="not measured")
    owes = owed_now(there, now=at(2))
    assert [(o.stage, o.from_utc) for o in owes] == [("6-thermal_ramp", "2026-03-03T09:15:00.000Z")]
    assert owes[0].reason == TicketReason.PUT_OFF(words="no loop attached")
    assert not owes[0].may_be_done(at(2))
    assert stages_owed(there, now=at(2)) == []
    found = ticket_for_run(tmp_path, "4711", None, at(2), simulated=True)
    assert found is not None
    why = found.left_out_why["6-thermal_ramp"]
    assert say(why) == "no loop attached (from 3 March 2026, 09:15 UTC)"
    assert sagen(why) == "no loop attached (ab 3. März 2026, 09:15 UTC)"
    assert stages_owed(there, now=at(25)) == ["6-thermal_ramp"]
    assert owed_now(there, now=at(25))[0].may_be_done(at(25))


def test_a_pass_before_the_joint_is_cured_says_so_and_the_link_is_judged_again(
    tmp_path: Path,
) -> None:
    there = ticket(tmp_path, profile="desktop_air")
    there = add_repair(there, "donor pads", contacts="B14", cure="24 h", now=at(1))
    during = ticket_for_run(tmp_path, "4711", None, at(1.3), simulated=True)
    assert during is not None
    (told,) = [o for o in during.owed if o.what == TicketOwed.LINK_AFTER_CURING()]
    assert "donor pads: cured for 18 min of 24.0 h" in say(told.reason)
    assert "donor pads: 18 min von 24,0 h ausgehärtet" in sagen(told.reason)
    run_of(there, 2)
    owes = owed_now(there, now=at(3))
    assert [(o.what, o.from_utc) for o in owes] == [
        (TicketOwed.LINK_AGAIN_AFTER_CURING(), "2026-03-03T10:15:00.000Z")
    ]
    assert stages_owed(there, now=at(3)) == []
    assert stages_owed(there, now=at(26)) == ["3-link", "7-link"]
    assert owed_now(there, now=at(26))[0].reason.means(TicketReason.LINK_PASSED_BEFORE_CURE)
    run_of(there, 27)
    assert owed_now(there, now=at(28)) == ()


def test_a_stage_carried_over_is_as_old_as_the_run_that_showed_it(tmp_path: Path) -> None:
    there = ticket(tmp_path, profile="desktop_air")
    there = add_repair(there, "donor pads", contacts="B14", cure="24 h", now=at(1))
    first = run_of(there, 2)
    later = run_of(there, 26, taken_over="3-link")
    assert first.name < later.name
    assert stages_owed(there, now=at(27)) == ["3-link"]


def test_nothing_is_owed_by_a_ticket_that_is_closed_or_without_a_fix(tmp_path: Path) -> None:
    there = ticket(tmp_path, profile="desktop_air")
    assert owed_now(add(there, "no_fix", {"reason": "the chip is cracked"})) == ()
    assert owed_now(add(ticket(tmp_path, "4712"), "closed", {})) == ()


def test_a_run_is_refused_after_smoke_and_told_of_what_was_overruled(tmp_path: Path) -> None:
    there = ticket(tmp_path, profile="desktop_air")
    there = add(there, "first_light", {"answers": {}, "ended_at_once": True}, now=at(1))
    found = ticket_for_run(tmp_path, "4711", None, at(2))
    assert found is not None
    assert found.refusal is not None
    assert found.refusal.means(BeforePowerReason.NO_POWER)
    add(there, "overridden", {"point": SMOKE, "reason": "dust on the heatsink"}, now=at(2))
    found = ticket_for_run(tmp_path, "4711", None, at(3))
    assert found is not None
    assert found.refusal is None
    assert found.notes[0].means(TicketNote.OVERRULED)
    assert "smell or smoke: dust on the heatsink" in say(found.notes[0])


def test_a_number_without_a_ticket_is_no_ticket(tmp_path: Path) -> None:
    assert ticket_for_run(tmp_path, "4999", None, at(0)) is None


def test_points_that_share_a_reason_are_owed_together_by_their_titles(tmp_path: Path) -> None:
    there = ticket(tmp_path, profile="repaired_desktop")
    first = owed_now(there)[0]
    assert first.what.means(TicketOwed.POINTS)
    assert first.before_power
    assert say(first.what) == (
        "before power: 12 V supply to ground, 3.3 V supply to ground, Core supply to ground"
    )
    assert sagen(first.what).startswith("vor dem Einschalten: 12-V-Versorgung gegen Masse, ")
    assert first.what["points"] == ("supply_12v", "supply_3v3", "supply_core")


@pytest.mark.parametrize("columns", [60, 80, 120])
def test_what_is_owed_is_folded_on_a_terminal_and_whole_in_a_pipe(
    tmp_path: Path, columns: int
) -> None:
    there = ticket(tmp_path, profile="repaired_desktop")
    (line, *_) = owed_lines(there, catalogue("de"))
    assert len(line) > 80
    lines = folded(line, columns)
    assert max(map(len, lines)) < columns or lines == [line]
    assert " ".join(" ".join(lines).split()) == " ".join(line.split())
