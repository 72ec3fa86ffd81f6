"""Two people at one bench and one ticket: nothing lost, nothing twice, who comes second is told.

`gave:` is what came of a case when it was first carried out; without one it held.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest
from PIL import Image

from burnin.record.event_log import read_log
from burnin.run.bench import Options, cards_of_bench
from burnin.run.record_lock import lock_record
from burnin.ticket.bound_card.facts import facts_of
from burnin.ticket.handover import handover as handing
from burnin.ticket.handover.checking import check
from burnin.ticket.handover.signing import sign_record
from burnin.ticket.intake.photos import add_photo
from burnin.ticket.intake.repairs import add_repair
from burnin.ticket.log.store import read_ticket
from burnin.ticket.log.ticket_from_log import LOG
from burnin.ticket.log.whole_ticket import WholeTicket
from burnin.ticket.runs_on_ticket import RunBegins, begun
from tests.others.several.at_once import Told, at_once, said, together
from tests.ticket.tickets import at, run_of, ticket


@pytest.fixture(autouse=True)
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "shop"
    folder.mkdir()
    monkeypatch.setenv("BURNIN_SHOP", str(folder))
    monkeypatch.setenv("BURNIN_TECHNICIAN", "Ilse Tarn")
    return folder


@pytest.fixture
def there(tmp_path: Path) -> WholeTicket:
    return ticket(tmp_path / "results", profile="desktop_air")


def kinds(there: WholeTicket) -> Counter[str]:
    return Counter(event.kind for event in read_log(there.folder / LOG).events)


def of(there: WholeTicket) -> tuple[str, ...]:
    return ("--results", str(there.folder.parent))


def sound(told: list[Told]) -> None:
    assert not [output for _, output in told if "Traceback" in output], told


def test_notes_of_four_people_at_once_are_all_kept(there: WholeTicket) -> None:
    names = ("Ilse", "Jon", "Mara", "Pelle")
    words = [("ticket", "note", "4711", f"by {n}", "--by", n, *of(there)) for n in names]
    told = at_once(*words, times=3)
    sound(told)
    assert [code for code, _ in told] == [0] * 12
    assert kinds(there)["noted"] == 12
    assert said("verify", str(there.folder))[0] == 0


def test_two_meters_at_one_point_leave_two_values(there: WholeTicket) -> None:
    words = [("measure", "4711", "B14", text, *of(there)) for text in ("0.45 V", "0.62 V")]
    told = at_once(*words)
    sound(told)
    events = read_log(there.folder / LOG).events
    values = [event.fields["value"] for event in events if event.kind == "measured"]
    assert sorted(values) == [0.45, 0.62], told  # type: ignore[type-var]


def test_of_two_that_open_one_number_the_second_is_told(tmp_path: Path) -> None:
    results = tmp_path / "results"
    for number in ("4801", "4802"):
        words = [
            ("ticket", "open", number, "--customer", who, "--simulated", "--results", str(results))
            for who in ("Ottilie Maro", "Pelle Varn")
        ]
        told = at_once(*words)
        sound(told)
        assert sorted(code for code, _ in told) == [0, 2]
        assert number in next(output for code, output in told if code)
        assert kinds(read_ticket(results, number))["opened"] == 1


def test_who_puts_off_what_was_put_off_meanwhile_is_told(there: WholeTicket) -> None:
    # gave: both silent: the second date stood, and whoever gave the first never heard of it
    words = [
        ("ticket", "defer", "4711", "thermal_ramp", why, "--from", day, "--by", who, *of(there))
        for who, why, day in (("Ilse", "pads come", "2031-03-10"), ("Jon", "no loop", "2031-04-10"))
    ]
    told = at_once(*words)
    sound(told)
    assert [code for code, _ in told] == [0, 0]
    assert kinds(there)["deferred"] == 2
    first, second = (e for e in read_log(there.folder / LOG).events if e.kind == "deferred")
    (heard,) = [output for _, output in told if f"by {first.by}" in output]
    assert str(first.fields["reason"]) in heard
    assert f"by {second.by}" not in "".join(output for _, output in told)


def test_of_two_that_take_a_stage_up_again_the_second_is_told(there: WholeTicket) -> None:
    # gave: both took it up, twice in the log
    assert said("ticket", "defer", "4711", "thermal_ramp", "pads come", *of(there))[0] == 0
    (stage,) = read_ticket(there.folder.parent, "4711").deferrals
    told = at_once(*[("ticket", "undefer", "4711", stage, *of(there))] * 2)
    sound(told)
    assert sorted(code for code, _ in told) == [0, 2], told
    assert kinds(there)["undeferred"] == 1


def _begins_with(folder: Path, number: int) -> Told:
    """A run begins with one of two cards that are not alike."""
    card = cards_of_bench(Options(simulated=("healthy", "healthy_x8")[number]))[0]
    facts = facts_of(card.identity(), card.outputs())
    begun(folder, RunBegins(f"run-{number}", simulated=True, card=facts))
    return 0, ""


def test_two_cards_cannot_both_be_bound(there: WholeTicket) -> None:
    told = together(*(partial(_begins_with, there.folder, number) for number in (0, 1)))
    assert sorted(code for code, _ in told) == [0, 99]
    assert "4711" in next(output for code, output in told if code)
    assert kinds(there)["run_begun"] == 1


def test_of_two_handovers_at_once_one_is_made(there: WholeTicket) -> None:
    run_of(there, 1)
    told = at_once(*[("handover", "4711", "--language", "en", *of(there))] * 2)
    sound(told)
    assert sorted(code for code, _ in told) == [0, 2], told
    folders = list(there.folder.glob("handover-*"))
    assert kinds(there)["handed_over"] == 1
    assert not [f for f in there.folder.rglob("*") if f.name.endswith((".part", ".passing"))]
    assert [check(folder).faults for folder in folders] == [()]


def meanwhile(monkeypatch: pytest.MonkeyPatch, act: Callable[[], object]) -> None:
    """Somebody else acts while the sheets of a handover are made."""
    sign = sign_record

    def signs(folder: Path) -> Path:
        act()
        return sign(folder)

    monkeypatch.setattr(handing, "sign_record", signs)


def _repairs(there: WholeTicket) -> object:
    return add_repair(there, "trace cut again", contacts="B14", by="Jon")


def _begins_a_run(there: WholeTicket) -> object:
    begun(there.folder, RunBegins("run-9", simulated=True, card=None))
    return None


def _fails(there: WholeTicket) -> object:
    return run_of(there, 1.5, s4="fail")


def _measures_a_short(there: WholeTicket) -> object:
    return said("measure", "4711", "supply_12v", "0.2 Ω", *of(there))


def _smells_smoke(there: WholeTicket) -> object:
    return said("ticket", "light", "4711", "--answer", "smoke=yes", *of(there))


def _corrects_the_customer(there: WholeTicket) -> object:
    return said("ticket", "correct", "4711", "customer=Pelle Varn", *of(there))


@pytest.mark.parametrize(
    "act",
    [
        # gave: each was signed over and the ticket closed as passed; the sheet told nothing of it
        _repairs,
        *(pytest.param(act, marks=pytest.mark.long) for act in (
            _begins_a_run, _fails, _smells_smoke, _corrects_the_customer,
        )),
    ],
)  # fmt: skip
def test_nothing_is_signed_over_what_another_did_meanwhile(
    act: Callable[[WholeTicket], object], there: WholeTicket, monkeypatch: pytest.MonkeyPatch
) -> None:
    run_of(there, 1)
    meanwhile(monkeypatch, lambda: act(there))
    code, output = said("handover", "4711", "--language", "en", *of(there))
    assert code == 2, output
    assert "Traceback" not in output
    assert (kinds(there)["handed_over"], kinds(there)["closed"]) == (0, 0)
    assert not list(there.folder.rglob("customer.pdf"))


@pytest.mark.long
def test_a_photo_that_comes_while_a_ticket_is_handed_over_is_kept_or_refused_in_words(
    there: WholeTicket, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    run_of(there, 1)
    Image.new("RGB", (64, 48), "red").save(tmp_path / "edge.jpg")
    meanwhile(monkeypatch, lambda: add_photo(there, tmp_path / "edge.jpg", now=at(1.2)))
    code, output = said("handover", "4711", "--language", "en", *of(there))
    assert code in (0, 2), output
    assert kinds(there)["photo"] == 1
    assert kinds(there)["handed_over"] == int(code == 0)
    assert [check(f).faults for f in there.folder.glob("handover-*")] == [()] * (code == 0)


def test_the_same_photo_from_two_phones_is_kept_once_and_the_second_is_told(
    there: WholeTicket, tmp_path: Path
) -> None:
    # gave: a traceback for one of them in one of four rounds, else twice in the log
    for number in range(2):
        file = tmp_path / f"{number}.png"
        Image.effect_noise((640, 480), 40.0 + number).save(file)
        told = at_once(*[("ticket", "photo", "4711", str(file), *of(there))] * 2)
        sound(told)
        assert sorted(code for code, _ in told) == [0, 2], told
    kept = [p.name for p in (there.folder / "ticket" / "photos").iterdir()]
    assert (kinds(there)["photo"], len(kept)) == (2, 2)


def test_two_that_give_up_and_close_at_once_leave_one_end(there: WholeTicket) -> None:
    told = at_once(
        ("ticket", "nofix", "4711", "core shorted", *of(there)),
        ("ticket", "close", "4711", *of(there)),
        ("ticket", "close", "4711", *of(there)),
    )
    sound(told)
    assert kinds(there)["closed"] == 1
    assert [code for code, _ in told].count(0) == 1 + kinds(there)["no_fix"]
    assert all("4711" in output for code, output in told if code)


def test_a_ticket_whose_run_goes_on_is_not_handed_over_and_says_so(there: WholeTicket) -> None:
    # gave: handed over as passed and closed; the run's end then stood on a closed ticket
    run_of(there, 1)
    folder = there.folder / "run-9"
    folder.mkdir()
    begun(there.folder, RunBegins("run-9", simulated=True, card=None), now=at(1.5))
    lock = lock_record(folder)
    try:
        code, output = said("handover", "4711", "--language", "en", *of(there))
    finally:
        lock.release()
    assert code == 2, output
    assert "run-9" in output


def test_two_first_commands_of_a_shop_make_one_key(tmp_path: Path) -> None:
    told = at_once(*[("shop", "--init")] * 2, ("shop",))
    sound(told)
    keys = {line.split()[-1] for _, output in told for line in output.splitlines() if "key" in line}
    assert len(keys) == 1, told
    assert said("shop")[0] == 0


@pytest.mark.long
def test_a_fresh_key_while_a_handover_is_signed_leaves_it_good(
    there: WholeTicket, monkeypatch: pytest.MonkeyPatch
) -> None:
    run_of(there, 1)
    assert said("shop", "--init")[0] == 0
    meanwhile(monkeypatch, lambda: said("shop", "--rotate"))
    code, output = said("handover", "4711", "--language", "en", *of(there))
    # gave: signed, and "the key is younger than what it signs" at the first verify
    made = [f.parent for f in there.folder.rglob("customer.pdf")]
    assert (code, len(made)) in ((0, 1), (2, 0)), output
    assert [check(folder).faults for folder in made] == [()] * len(made)
    assert "key" in output or code == 0
