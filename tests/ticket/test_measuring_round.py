"""A round of values by hand: counted, gone back in after a slip, left out with a reason."""

from __future__ import annotations

from pathlib import Path

import pytest

from burnin.core.answers.form import Form, form_of
from burnin.core.answers.meanings import WithoutTerm
from burnin.core.meaning import Note, Prompt, Reason
from burnin.core.quantities.quantity import Meter, parse_quantity
from burnin.profile.loader import load_profile
from burnin.ticket.before_power.asking import ask_each, place_of
from burnin.ticket.before_power.doubt import doubt
from burnin.ticket.before_power.meanings import BeforePowerReason, MeasureNote
from burnin.ticket.before_power.measuring import still_wanted
from burnin.ticket.before_power.points import wanted
from burnin.ticket.intake.repairs import add_repair
from burnin.ticket.log.store import read_ticket
from burnin.ticket.log.whole_ticket import WholeTicket
from tests.ticket.test_commands import call, good, opened
from tests.ticket.tickets import profile, sagen, say, ticket


class Hands:
    """Types line after line, then is gone."""

    def __init__(self, *lines: str) -> None:
        self._lines = [f"{line}\n" for line in lines]
        self.asked: list[Form] = []
        self.questions: list[str] = []
        self.told: list[Note | Reason | str] = []

    def ask(self, prompt: Prompt) -> str:
        form = form_of(prompt)
        assert form is not None
        self.asked.append(form)
        self.questions.append(say(prompt))
        return self._lines.pop(0) if self._lines else ""

    def tell(self, told: Note | Reason | str) -> None:
        self.told.append(told)

    def noted(self, code: MeasureNote) -> list[str]:
        return [say(t) for t in self.told if not isinstance(t, str) and t.means(code)]


def went_round(card: WholeTicket, hands: Hands) -> WholeTicket:
    wants = still_wanted(card, profile())
    return ask_each(card, wants, profile(), Meter(), hands.ask, hands.tell, "Ilse Tarn")


@pytest.fixture
def card(tmp_path: Path) -> WholeTicket:
    return ticket(tmp_path)


def test_each_is_counted_with_its_limit_and_shown_back_in_one_form(card: WholeTicket) -> None:
    hands = Hands("4k7", "0R3")
    went_round(card, hands)
    assert [(form.number, form.of_count) for form in hands.asked] == [(1, 4), (2, 4), (3, 4)]
    assert [say(form.good) for form in hands.asked] == [
        "good: 50 Ω or more", "good: 0.15 Ω or more", "good: 0.2 V to 0.8 V",
    ]  # fmt: skip
    assert hands.noted(MeasureNote.TAKEN) == [
        "kept: 12 V supply to ground: 4.7 kΩ ± 0.054 kΩ",
        "kept: Core supply to ground: 0.3 Ω ± 0.061 Ω",
    ]


def test_whoever_goes_back_gives_a_newer_value_and_the_earlier_stays_in_the_log(
    card: WholeTicket,
) -> None:
    hands = Hands("42 Ω", "ja", "zurück", "420 Ω", "420 Ω")
    after = went_round(card, hands)
    assert [form.number for form in hands.asked] == [1, 0, 2, 1, 1, 2]
    assert [m.value for m in after.measured] == [42.0, 420.0, 420.0]
    assert hands.noted(MeasureNote.ONCE_MORE) == [
        "before it was 42 Ω, now 420 Ω: measure once more, until two agree"
    ]
    assert "supply_12v" not in {want.point.name for want in still_wanted(after, profile())}


def test_before_the_first_there_is_none(card: WholeTicket) -> None:
    hands = Hands("b")
    went_round(card, hands)
    assert [form.number for form in hands.asked] == [1, 1]
    assert hands.noted(MeasureNote.NONE_BEFORE)


def test_what_is_left_out_with_a_reason_is_a_note_of_the_ticket_and_stays_owed(
    card: WholeTicket, tmp_path: Path
) -> None:
    hands = Hands("skip glue not dry", "", "0.45")
    went_round(card, hands)
    kept = read_ticket(tmp_path, card.number)
    assert [(by, text) for _, by, text in kept.notes] == [
        ("Ilse Tarn", "supply_12v: glue not dry")
    ]
    assert [m.point for m in kept.measured] == ["B14"]
    owed = [want.point.name for want in still_wanted(kept, profile())]
    assert owed == ["supply_12v", "supply_core", "B15"]
    second = Hands()
    went_round(kept, second)
    assert (second.asked[0].number, second.asked[0].of_count) == (1, 3)


def test_a_slip_is_told_and_asked_again_and_what_is_bad_is_told_at_once(card: WholeTicket) -> None:
    hands = Hands("38 furlongs", "1.1 Ω", "y")
    went_round(card, hands)
    assert [form.number for form in hands.asked] == [1, 1, 0, 2]
    assert not isinstance(hands.told[0], str)
    assert "unknown unit" in say(hands.told[0])
    assert any(not isinstance(t, str) and "short" in say(t) for t in hands.told[1:])


def test_where_to_hold_the_probe_is_told_for_each_contact(card: WholeTicket) -> None:
    repaired = add_repair(card, "donor pads", contacts="B14")
    hands = Hands("", "", "", "")
    went_round(repaired, hands)
    assert [say(where) for where in hands.asked[2].where] == [
        "B14: side B (component side), no. 3 from the key notch, away from the bracket,"
        " 3.5 mm from the notch's middle"
    ]
    trace = hands.asked[4]
    assert say(trace.good) == "good: 1 Ω or less"
    assert len(trace.where) == 1


@pytest.mark.parametrize(
    ("contact", "told"),
    [
        ("A11", "A11: Seite A (Lötseite), Nr. 1 ab der Kerbe zum Slotblech hin, 1,5 mm"),
        ("A12", "A12: Seite A (Lötseite), Nr. 1 ab der Kerbe vom Slotblech weg, 1,5 mm"),
        ("B1", "B1: Seite B (Bauteilseite), Nr. 11 ab der Kerbe zum Slotblech hin, 11,5 mm"),
    ],
)
def test_a_contact_is_counted_from_the_key(contact: str, told: str) -> None:
    assert sagen(place_of(contact)).startswith(told)


def test_a_value_of_another_point_is_told_and_asked_back_before_it_is_kept(
    card: WholeTicket,
) -> None:
    hands = Hands("0.4 Ω", "n", "420 Ω", "0.4 Ω")
    after = went_round(card, hands)
    assert hands.questions[1] == (
        "0.4 Ω is bad at '12 V supply to ground' and right at 'Core supply to ground':"
        " was the probe there? Keep it all the same?"
    )
    assert hands.noted(MeasureNote.NOT_KEPT) == ["not kept: 12 V supply to ground"]
    assert [(m.point, m.value) for m in after.measured] == [
        ("supply_12v", 420.0), ("supply_core", 0.4),
    ]  # fmt: skip


def test_a_doubtful_value_is_kept_where_somebody_says_so_and_only_then(card: WholeTicket) -> None:
    kept = went_round(card, Hands("0.4 Ω", "perhaps", "j"))
    assert [m.value for m in kept.measured] == [0.4]
    gone = Hands("0.4 Ω")
    assert went_round(ticket(card.folder.parent, "4712"), gone).measured == ()
    assert gone.asked[-1].enter == WithoutTerm.ASKED_AGAIN()


def test_millivolts_are_no_resistance(card: WholeTicket) -> None:
    hands = Hands("350 mV")
    assert went_round(card, hands).measured == ()
    assert [form.number for form in hands.asked] == [1, 1]


def test_more_than_a_supply_ever_reads_is_asked_back() -> None:
    loaded = load_profile("repaired_desktop").profile
    wants = wanted(loaded, WholeTicket(Path("none"), "4711", "", {}))
    core = next(want for want in wants if want.point.name == "supply_core")
    why = doubt(core, parse_quantity("420", "Ω"), wants)
    assert why is not None
    assert why.means(BeforePowerReason.MORE_THAN_USUAL)
    assert doubt(core, parse_quantity("0.4", "Ω"), wants) is None
    assert doubt(wants[0], parse_quantity("420", "Ω"), wants) is None
    assert doubt(wants[0], parse_quantity("OL", "Ω"), wants) is None


def test_a_value_named_with_its_point_is_asked_back_where_somebody_is_there(
    tmp_path: Path,
) -> None:
    opened(tmp_path)
    good(tmp_path, "ticket", "correct", "4711", "profile=repaired_desktop")
    line = ("measure", "4711", "supply_12v", "0.4 Ω")
    assert "not kept: supply_12v" in call(tmp_path, *line, typed="n\n")[1]
    assert read_ticket(tmp_path, "4711").measured == ()
    code, told = call(tmp_path, *line)
    assert (code, "was the probe there?" in told) == (1, True)
    assert [m.value for m in read_ticket(tmp_path, "4711").measured] == [0.4]
