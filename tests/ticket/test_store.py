"""Tickets in a folder: opened once, found again, listed by urgency, never outside results/."""

from __future__ import annotations

import multiprocessing
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from burnin.core.errors import BadInput, RecordError
from burnin.core.meaning import Meaning
from burnin.report.languages.catalogue import catalogue
from burnin.ticket.intake.damage_told import parse_damage
from burnin.ticket.intake.photos import FOLDER, add_photo, is_whole, small_jpeg
from burnin.ticket.intake.taking_in import Intake, add_damage, correct, take_in
from burnin.ticket.log.days_and_spans import parse_day, parse_span_s
from burnin.ticket.log.store import add, open_ticket, read_ticket, ticket_folder
from burnin.ticket.log.ticket_from_log import LOG
from burnin.ticket.put_off import put_off_stage
from burnin.ticket.ticket_list import find_tickets, open_tickets
from tests.refusals import refused
from tests.ticket.tickets import START, at, ticket

LONG = "Maro " * 2000
TEXTS = ["<script>alert(1)</script> & {{ 7*7 }} #import $x$", "אוטיליה מארו", "🛠️🔥 Öttilie", LONG]


@pytest.mark.parametrize("text", TEXTS)
def test_every_text_is_kept_as_it_was_given(text: str, tmp_path: Path) -> None:
    ticket(tmp_path, customer=text)
    assert read_ticket(tmp_path, "4711").intake["customer"] == text


def test_a_text_beyond_reason_is_refused(tmp_path: Path) -> None:
    with refused(BadInput, match="at most 20\u202f000"):
        ticket(tmp_path, fault="x" * 20_001)
    assert not (tmp_path / "4711").exists()


@given(st.text(max_size=80))
def test_no_number_leaves_results(number: str) -> None:
    results = Path("/r/results")
    try:
        folder = ticket_folder(results, number)
    except BadInput:
        return
    assert folder.parent == results
    assert folder.name not in ("", ".", "..")


@pytest.mark.parametrize("number", ["/etc/passwd", "\\etc\\passwd", "a/./b", "...", "47..11"])
def test_a_number_full_of_dots_and_slashes_stays_inside(number: str, tmp_path: Path) -> None:
    results = tmp_path / "results"
    try:
        there = ticket(results, number)
    except BadInput:  # nothing of it is a name
        assert number == "..."
        return
    assert there.number == number
    assert there.folder.parent == results
    assert [p.name for p in tmp_path.iterdir() if p.name != "shop"] == ["results"]


@pytest.mark.parametrize("number", ["../../etc/passwd", "..\\..\\x", "a/../../b", ".."])
def test_a_number_that_names_a_folder_above_is_refused(number: str, tmp_path: Path) -> None:
    with refused(BadInput, match="take another number"):
        ticket(tmp_path / "results", number)
    assert not (tmp_path / "results").exists()


def test_two_numbers_never_share_a_folder(tmp_path: Path) -> None:
    ticket(tmp_path, "47/11")
    with refused(BadInput, match="take another number"):
        ticket(tmp_path, "47-11")
    with refused(BadInput, match="open already"):
        ticket(tmp_path, "47/11")


def _open(results: Path, name: str) -> None:
    try:
        open_ticket(results, "4711", {"customer": name})
    except BadInput:
        raise SystemExit(7) from None


def test_two_people_who_open_one_number_at_once_get_one_ticket(tmp_path: Path) -> None:
    context = multiprocessing.get_context("fork")
    people = [context.Process(target=_open, args=(tmp_path, name)) for name in ("one", "two")]
    for person in people:
        person.start()
    for person in people:
        person.join()
    assert sorted(p.exitcode or 0 for p in people) == [0, 7]
    assert read_ticket(tmp_path, "4711").intake["customer"] in ("one", "two")


def _note(results: Path, who: str, texts: list[str]) -> None:
    for text in texts:
        add(read_ticket(results, "4711"), "noted", {"text": text}, by=who)


@settings(max_examples=8, deadline=None)
@given(
    first=st.lists(st.text(max_size=20), min_size=1, max_size=8),
    second=st.lists(st.text(max_size=20), min_size=1, max_size=8),
)
def test_two_who_write_to_one_ticket_at_once_lose_nothing(
    first: list[str], second: list[str], tmp_path_factory: pytest.TempPathFactory
) -> None:
    results = tmp_path_factory.mktemp("results")
    ticket(results)
    context = multiprocessing.get_context("fork")
    people = [
        context.Process(target=_note, args=(results, who, texts))
        for who, texts in (("one", first), ("two", second))
    ]
    for person in people:
        person.start()
    for person in people:
        person.join()
        assert person.exitcode == 0
    notes = read_ticket(results, "4711").notes
    for who, texts in (("one", first), ("two", second)):
        expected = [t.replace("\0", "").encode("utf-8", "replace").decode() for t in texts]
        assert [text for _, by, text in notes if by == who] == expected


def test_open_tickets_come_by_urgency_with_what_they_owe(tmp_path: Path) -> None:
    ticket(tmp_path, "1", promised="2026-03-20")
    ticket(tmp_path, "2", promised="2026-03-09")
    open_ticket(tmp_path, "3", {"promised": "2026-03-25"}, expedited=True, now=START)
    ticket(tmp_path, "4", promised="")
    ticket(tmp_path, "5", promised="2026-03-01")
    add(ticket(tmp_path, "6"), "closed", {})
    lines, faults = open_tickets(tmp_path, at(24 * 9))
    assert [line.ticket.number for line in lines] == ["5", "2", "3", "1", "4"]
    assert lines[0].late_days == 10
    assert all(line.owes for line in lines)
    assert faults == []


def test_search_finds_every_word_in_any_field_of_open_and_closed_tickets(tmp_path: Path) -> None:
    first = add_damage(ticket(tmp_path, "1"), ["B14 missing: by the fall"])
    add(first, "closed", {})
    ticket(tmp_path, "2", serial="CS9-00412")
    assert [x.ticket.number for x in find_tickets(tmp_path, "ottilie FALL")[0]] == ["2", "1"]
    assert [x.ticket.number for x in find_tickets(tmp_path, "cs9-00412")[0]] == ["2"]
    assert [x.ticket.number for x in find_tickets(tmp_path, "b14")[0]] == ["1"]
    assert find_tickets(tmp_path, "nowhere") == ([], [])


def test_a_damaged_ticket_is_named_and_the_others_are_listed(tmp_path: Path) -> None:
    ticket(tmp_path, "1")
    bad = ticket(tmp_path, "2")
    path = bad.folder / LOG
    path.write_bytes(path.read_bytes().replace(b"Ottilie", b"Otto"))
    lines, faults = open_tickets(tmp_path)
    assert [line.ticket.number for line in lines] == ["1"]
    assert isinstance(faults[0], Meaning)
    assert "line 1: is not as it was written" in catalogue("en").say(faults[0])
    with pytest.raises(RecordError):
        read_ticket(tmp_path, "2")


def test_a_closed_ticket_takes_nothing_until_it_is_opened_again(tmp_path: Path) -> None:
    closed = add(ticket(tmp_path), "closed", {})
    with refused(BadInput, match="was closed"):
        add(closed, "noted", {"text": "x"})
    again = add(closed, "reopened", {})
    assert add(again, "noted", {"text": "x"}).notes[0][2] == "x"


def test_corrections_keep_the_former_text_in_the_log(tmp_path: Path) -> None:
    there = correct(ticket(tmp_path), ["promised=2026-03-12", "customer=O. Maro", "expedited=yes"])
    assert there.intake["promised"] == "2026-03-12"
    assert there.intake["customer"] == "O. Maro"
    assert there.expedited
    assert "Ottilie Maro" in (there.folder / LOG).read_text("utf-8")
    for bad, told in (
        ("promised=soon", "is not a day"),
        ("colour=red", "write FIELD=TEXT"),
        ("profile=nonesuch", "no profile named"),
        ("language=xx", "there are en, de"),
    ):
        with refused(BadInput, match=told):
            correct(there, [bad])


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("B99 missing", "no contact"),
        ("B17-B14 missing", "runs upwards"),
        ("B14-A17 missing", "runs upwards"),
        ("nowhere bent", "where is"),
        ("bracket odd", "what is"),
        ("bracket", "where and what"),
    ],
)
def test_damage_that_cannot_be_is_refused_before_the_ticket_is_opened(
    text: str, told: str, tmp_path: Path
) -> None:
    with refused(BadInput, match=told):
        take_in(tmp_path, "4711", Intake({}, seen=("A1 bent", text)))
    assert not (tmp_path / "4711").exists()


def test_damage_is_kept_by_contact_and_area(tmp_path: Path) -> None:
    there = take_in(tmp_path, "4711", Intake({}, seen=("b14-b16 missing", "bracket bent: fall")))
    assert [(d.where, d.what, d.note) for d in there.damage] == [
        ("B14", "missing", ""),
        ("B15", "missing", ""),
        ("B16", "missing", ""),
        ("bracket", "bent", "fall"),
    ]


def test_a_photo_is_kept_by_its_hash_and_a_change_is_seen(tmp_path: Path) -> None:
    source = tmp_path / ".." / tmp_path.name / "edge.png"
    Image.new("RGB", (1200, 800), (90, 120, 90)).save(source)
    there = add_photo(ticket(tmp_path), source, note="edge", for_customer=True)
    photo = there.photos[0]
    assert (there.folder / FOLDER / photo.file).parent == there.folder / FOLDER
    assert is_whole(there, photo)
    small = small_jpeg(there, photo)
    assert small is not None
    assert small.startswith(b"\xff\xd8")
    with refused(BadInput, match="already"):
        add_photo(there, source)
    (there.folder / FOLDER / photo.file).write_bytes(b"other")
    assert not is_whole(there, photo)
    assert small_jpeg(there, photo) is None


def test_what_is_no_picture_is_refused(tmp_path: Path) -> None:
    there = ticket(tmp_path)
    text = tmp_path / "notes.jpg"
    text.write_text("not a picture")
    with refused(BadInput, match="is no picture"):
        add_photo(there, text)
    with refused(BadInput, match="cannot be read"):
        add_photo(there, tmp_path / "none.jpg")
    assert read_ticket(tmp_path, "4711").photos == ()


@pytest.mark.parametrize("name", ["edge.jpg", "edge.png", "edge.webp"])
def test_a_picture_that_was_cut_off_on_its_way_is_refused(tmp_path: Path, name: str) -> None:
    there, whole = ticket(tmp_path), tmp_path / name
    Image.effect_noise((300, 200), 80.0).convert("RGB").save(whole)
    content = whole.read_bytes()
    whole.write_bytes(content[: len(content) * 3 // 4])
    with refused(BadInput, match="is no picture"):
        add_photo(there, whole)
    assert not (there.folder / FOLDER).exists()


def test_a_stage_is_put_off_by_its_name_only(tmp_path: Path) -> None:
    there = ticket(tmp_path, profile="desktop_air")
    with refused(BadInput, match="no stage 'soak'"):
        put_off_stage(there, "soak", "no loop")
    with refused(BadInput, match="Write a reason"):
        put_off_stage(there, "thermal_ramp", " ")
    with refused(BadInput, match="is no moment"):
        put_off_stage(there, "thermal_ramp", "no loop", "soon")
    off = put_off_stage(there, "thermal_ramp", "no loop", "24h", now=START)
    assert off.deferrals["thermal_ramp"].from_utc == "2026-03-03T09:15:00.000Z"


@pytest.mark.parametrize(
    ("typed", "seconds"),
    [("24 h", 86400.0), ("24h", 86400.0), ("24 Stunden", 86400.0), ("1,5 Std.", 5400.0),
     ("20 min", 1200.0), ("20 Minuten", 1200.0), ("2 Tage", 172800.0), ("+ 1 d", 86400.0)],
)  # fmt: skip
def test_spans_are_understood_as_people_write_them(typed: str, seconds: float) -> None:
    assert parse_span_s(typed) == seconds


@pytest.mark.parametrize("typed", ["5.12.2026", "05.12.2026", "5. 12. 2026", "2026-12-05"])
def test_days_are_understood_as_people_write_them(typed: str) -> None:
    assert parse_day(typed) == "2026-12-05"


@pytest.mark.parametrize("typed", ["31.2.2026", "12.5.", "24", "24 m", "1.2.3", "-1 h"])
def test_what_is_neither_day_nor_span_is_refused(typed: str) -> None:
    for read in (parse_day, parse_span_s):
        with pytest.raises(BadInput):
            read(typed)


def test_damage_is_understood_in_german_and_kept_as_one_word() -> None:
    assert parse_damage("B14-B16 abgerissen") == parse_damage("B14-B16 missing")
    assert parse_damage("Slotblech verbogen") == parse_damage("bracket bent")
