"""Slips put right: misread values, repairs entered twice, wrong cure times; none vanishes."""

from __future__ import annotations

from pathlib import Path

import pytest

from burnin.core.errors import BadInput
from burnin.core.reading import Verdict
from burnin.record.event_log import read_log
from burnin.report.languages.catalogue import catalogue
from burnin.report.ticket.ticket_sections import sections_before
from burnin.ticket.before_power.judging import judged
from burnin.ticket.before_power.measuring import still_wanted
from burnin.ticket.before_power.power_gate import may_power
from burnin.ticket.before_power.values import Entry, take
from burnin.ticket.event_notes import correction_note, story
from burnin.ticket.handover.facts_for_sheets import facts_of_ticket
from burnin.ticket.intake.refusals import IntakeRefusal
from burnin.ticket.intake.repairs import add_repair, uncured
from burnin.ticket.log.store import read_ticket
from burnin.ticket.log.ticket_from_log import LOG
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.owed_work import owed_now
from burnin.ticket.proven.counting import runs_that_count
from burnin.ticket.refusals import TicketRefusal
from burnin.ticket.slips import correct_cure, take_back
from tests.ticket.test_commands import call, good, opened
from tests.ticket.tickets import at, profile, run_of, sagen, say, ticket


def measured(card: WholeTicket, text: str, hours: float) -> WholeTicket:
    return take(card, [Entry("supply_12v", text)], profile(), by="Tarn", now=at(hours))


def verdict_12v(card: WholeTicket) -> Verdict | None:
    return next(r.verdict for r in judged(profile(), card) if r.name == "supply_12v")


def refused(code: TicketRefusal | IntakeRefusal, card: WholeTicket, *words: str) -> str:
    with pytest.raises(BadInput) as error:
        take_back(card, *words)
    return told_of(error.value, code)


def told_of(error: BadInput, code: TicketRefusal | IntakeRefusal) -> str:
    assert not isinstance(error.told, str)
    assert error.told.means(code)
    return say(error.told)


def test_a_short_that_was_taken_back_keeps_power_off_until_a_new_value_shows_none(
    tmp_path: Path,
) -> None:
    short = measured(ticket(tmp_path), "1.1 Ω", 1)
    back = take_back(short, "supply_12v", "probe on the core coil", by="Ilse Tarn", now=at(2))
    assert back.measured == ()
    why = may_power(back, profile())
    assert why is not None
    assert "1.1 Ω ± 0.07 Ω; less than 5 Ω is one) was taken back as misread" in say(why)
    assert "erst ein neuer Wert zeigt, dass keiner da ist" in sagen(why)
    assert verdict_12v(back) is Verdict.NOT_MEASURED
    assert "supply_12v" in {want.point.name for want in still_wanted(back, profile())}
    anew = measured(back, "420 Ω", 3)
    assert may_power(anew, profile()) is None
    assert verdict_12v(anew) is Verdict.PASS


def test_a_good_value_from_before_does_not_hide_a_short_that_was_taken_back(
    tmp_path: Path,
) -> None:
    both = measured(measured(ticket(tmp_path), "420 Ω", 1), "1.1 Ω", 2)
    back = take_back(both, "supply_12v 1.1", "misread", now=at(3))
    assert [m.value for m in back.measured] == [420.0]
    assert may_power(back, profile()) is not None
    assert verdict_12v(back) is Verdict.NOT_MEASURED


def test_a_slip_that_was_no_short_leaves_the_value_before_it_standing(tmp_path: Path) -> None:
    both = measured(measured(ticket(tmp_path), "420 Ω", 1), "42 kΩ", 2)
    assert verdict_12v(both) is Verdict.UNSURE
    assert verdict_12v(take_back(both, "supply_12v 42k", "range", now=at(3))) is Verdict.PASS


def test_log_and_internal_sheet_keep_a_short_that_was_taken_back(tmp_path: Path) -> None:
    given = ticket(tmp_path, profile="repaired_desktop")
    back = take_back(measured(given, "1.1 Ω", 1), "supply_12v", "wrong coil", by="Ilse", now=at(2))
    log = read_log(back.folder / LOG).events
    assert [event.kind for event in log] == ["opened", "measured", "value_taken_back"]
    assert log[1].fields["value"] == 1.1
    facts = facts_of_ticket(back, at(3))
    for language, told in (
        ("en", "1.1 Ω, A SHORT (measured 2 March 2026, 10:15 UTC by Tarn), was taken back"),
        ("de", "1,1 Ω, EIN KURZSCHLUSS (gemessen 2. März 2026, 10:15 UTC, Tarn), zurückgenommen"),
    ):
        lines = [s.lines for s in sections_before(facts, catalogue(language))]
        assert any(told in line and "wrong coil" in line for part in lines for line in part)


def test_a_repair_is_refused_twice_and_taken_when_it_was_done_again(tmp_path: Path) -> None:
    once = add_repair(ticket(tmp_path), "Donor pads", contacts="B14-B15", cure="24 h", now=at(1))
    with pytest.raises(BadInput) as error:
        add_repair(once, "donor  pads", contacts="B14-B15", now=at(1.1))
    told = told_of(error.value, IntakeRefusal.DONE_ALREADY)
    assert "as repair 1 of 2 March 2026, 10:15 UTC" in told
    assert add_repair(once, "donor pads", contacts="B16", now=at(2)).repairs[-1].number == 2
    assert len(add_repair(once, "donor pads", contacts="B14-B15", again=True).repairs) == 3


def test_a_repair_that_was_none_takes_nothing_away_that_was_shown(tmp_path: Path) -> None:
    card = measured(add_repair(ticket(tmp_path), "epoxy", now=at(0.1)), "420 Ω", 1)
    folder = run_of(card, 2)
    slip = add_repair(card, "epoxy", again=True, now=at(3))
    assert runs_that_count(slip) == ()
    assert verdict_12v(slip) is Verdict.NOT_MEASURED
    back = take_back(slip, "Reparatur 2", "entered twice", now=at(4))
    assert [run.folder for run in runs_that_count(back)] == [folder]
    assert verdict_12v(back) is Verdict.PASS
    assert [repair.number for repair in back.repairs] == [1]
    assert add_repair(back, "cable", now=at(5)).repairs[-1].number == 3


def test_work_that_was_done_beside_it_still_counts(tmp_path: Path) -> None:
    card = ticket(tmp_path)
    run_of(card, 1)
    card = add_repair(add_repair(card, "epoxy", now=at(2)), "flux", now=at(3))
    assert runs_that_count(take_back(card, "repair 2", "none", now=at(4))) == ()


def test_a_failure_comes_back_with_the_repair_that_was_none(tmp_path: Path) -> None:
    card = ticket(tmp_path)
    run_of(card, 1, s4="fail")
    card = add_repair(read_ticket(tmp_path, "4711"), "chip", now=at(2))
    run_of(card, 3)
    back = take_back(read_ticket(tmp_path, "4711"), "repair", "wrong ticket", now=at(4))
    assert any(owed.failed for owed in owed_now(back, now=at(5)))


def test_a_cure_time_is_put_right_from_when_the_repair_was_entered(tmp_path: Path) -> None:
    short = add_repair(ticket(tmp_path), "donor pads", contacts="B14", cure="24 min", now=at(1))
    assert uncured(short, at(2)) == ()
    right = correct_cure(short, "24h", "hours, not minutes", by="Ilse", now=at(2))
    assert [repair.cured_utc for repair in uncured(right, at(2))] == ["2026-03-03T10:15:00.000Z"]
    assert "cures until 2 March 2026, 10:39 UTC, put right 2 March 2026, 11:15 UTC by Ilse" in say(
        correction_note(right.corrections[0], was_short=False)
    )
    none = correct_cure(right, "none", "no glue in it", now=at(3))
    assert uncured(none, at(3)) == ()
    assert len(none.corrections) == 2


def test_the_clocks_of_a_repair_are_its_own_when_one_before_it_was_taken_back(
    tmp_path: Path,
) -> None:
    card = add_repair(ticket(tmp_path), "epoxy")
    card = take_back(add_repair(card, "flux", cure="24 h"), "repair 1", "none")
    assert [(r.what, r.set_on_s) for r in read_ticket(tmp_path, "4711").repairs] == [("flux", 0.0)]
    assert [say(note)[:18] for _, note in story(read_log(card.folder / LOG).events)][1:3] == [
        "repaired: repair 1", "repaired: repair 2",
    ]  # fmt: skip


def test_what_is_not_plain_is_refused_with_what_there_is(tmp_path: Path) -> None:
    card = measured(measured(ticket(tmp_path), "420 Ω", 1), "1.1 Ω", 2)
    refused(TicketRefusal.WHY_TAKEN_BACK, card, "supply_12v", " ")
    told = refused(TicketRefusal.WHICH_VALUE, card, "supply_12v", "why")
    assert "supply_12v 420 Ω; supply_12v 1.1 Ω" in told
    refused(TicketRefusal.WHICH_VALUE, card, "supply_12v 7", "why")
    refused(TicketRefusal.NOT_MEASURED_THERE, card, "moon", "why")
    refused(TicketRefusal.NO_REPAIR, card, "repair 1", "why")
    both = add_repair(add_repair(card, "epoxy"), "flux")
    assert "repair 1 (epoxy); repair 2 (flux)" in refused(
        TicketRefusal.WHICH_REPAIR, both, "repair", "why"
    )
    with pytest.raises(BadInput):
        correct_cure(both, "24 h", "why")


def test_the_commands_take_back_and_tell_it_in_the_language_that_is_shown(tmp_path: Path) -> None:
    opened(tmp_path)
    told = good(tmp_path, "ticket", "repair", "4711", "epoxy", "--cure", "24 min")
    assert 'if that is wrong: `burnin ticket cure 4711 "24 h" "why" --repair 1`' in told
    assert call(tmp_path, "ticket", "repair", "4711", "epoxy")[0] == 2
    assert "nothing to cure" in good(tmp_path, "ticket", "cure", "4711", "none", "no glue")
    good(tmp_path, "ticket", "repair", "4711", "epoxy", "--again")
    told = good(
        tmp_path, "ticket", "--language", "de", "takeback", "4711", "repair 2", "doppelt"
    )
    assert told.startswith("Reparatur 2 (epoxy) zurückgenommen")
    shown = good(tmp_path, "ticket", "show", "4711")
    assert "taken back: repair 2; what epoxy; reason doppelt" in shown
    assert "cure time put right: repair 1; what epoxy; nothing to cure; reason no glue" in shown


def test_the_log_tells_damage_and_stages_in_the_language_that_is_shown(tmp_path: Path) -> None:
    opened(tmp_path)
    good(tmp_path, "ticket", "seen", "4711", "bracket bent")
    good(tmp_path, "ticket", "defer", "4711", "thermal_ramp", "Kleber")
    told = good(tmp_path, "ticket", "--language", "de", "show", "4711")
    assert "gesehen: Blech; verbogen" in told
    assert "gesehen: B14; Kontaktfläche fehlt" in told
    assert "Stufe Wärme bei steigender Last" in told
