"""Whatever somebody writes into a ticket's folder without the key is told; the untouched passes.

Each alteration is made on a copy of one ticket: photo, cold start, a failed run, work, a run that
passed, two handovers, the second in German on letter paper after the card came back.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image

from burnin.record.event_log import LogEvent, append, checks, read_log
from burnin.record.sums import write_checksums
from burnin.stages.cold_starts.start_log import FILE as STARTS
from burnin.ticket.handover.checking import check, find_fingerprint
from burnin.ticket.handover.handover import hand_over
from burnin.ticket.handover.meanings import ChainNote, ChainReason
from burnin.ticket.handover.sheet_anew import sheet_anew
from burnin.ticket.handover.signing import CHECKSUMS, FACTS, SIGNATURE, sign_record, verify
from burnin.ticket.intake.photos import FOLDER as PHOTOS
from burnin.ticket.intake.photos import add_photo
from burnin.ticket.intake.repairs import add_repair
from burnin.ticket.log.store import add, read_ticket
from burnin.ticket.log.ticket_from_log import LOG
from burnin.ticket.shop.log_head import FILE as HEAD
from burnin.ticket.shop.log_head import vouching
from burnin.ticket.shop.shop_key import PUBLIC_FILE, shop_key
from tests.ticket.tickets import at, run_of, sagen, say, ticket


class Made:
    """The ticket as it was made; `early` is a copy of it before the second handover."""

    def __init__(self, base: Path) -> None:
        self.shop, self.results, self.early = base / "shop", base / "results", base / "early"
        there = ticket(self.results, profile="desktop_air")
        Image.new("RGB", (40, 30), (90, 120, 90)).save(base / "edge.png")
        there = add_photo(there, base / "edge.png", now=at(0.1))
        starts = there.folder / "ticket" / STARTS
        begun = LogEvent("2026-03-02T09:20:00.000Z", "begun", "", {"boot_id": "b1"})
        append(starts, lambda _: [begun])
        self.failed = signed(run_of(there, 1, s4="fail")).name
        there = add_repair(there, "memory chip changed", now=at(2))
        self.passed = signed(run_of(there, 3)).name
        self.first = hand_over(read_ticket(self.results, "4711"), now=at(4))
        shutil.copytree(self.results, self.early)
        there = add(read_ticket(self.results, "4711"), "reopened", {}, now=at(5))
        there = add(there, "noted", {"text": "came back for a second sheet"}, now=at(5.5))
        self.second = hand_over(there, languages=("de",), paper="letter", now=at(6))
        other = ticket(self.results, "4712", profile="desktop_air")
        signed(run_of(other, 3))
        hand_over(read_ticket(self.results, "4712"), now=at(4.5))


def signed(folder: Path) -> Path:
    write_checksums(folder)
    sign_record(folder)
    return folder


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Made:
    base = tmp_path_factory.mktemp("made")
    with pytest.MonkeyPatch.context() as bench:
        bench.setenv("BURNIN_SHOP", str(base / "shop"))
        bench.setenv("BURNIN_TECHNICIAN", "J. Wren")
        return Made(base)


@pytest.fixture
def there(made: Made, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the ticket's folder, on the bench whose key made it."""
    monkeypatch.setenv("BURNIN_SHOP", str(made.shop))
    shutil.copytree(made.results, tmp_path / "results")
    return tmp_path / "results" / "4711"


def relisted(folder: Path) -> None:
    """The list of checksums made anew, as anybody can."""
    write_checksums(folder)


def edit(path: Path, old: bytes, new: bytes) -> None:
    raw = path.read_bytes()
    assert old in raw
    path.write_bytes(raw.replace(old, new, 1))


def swap(one: Path, other: Path) -> None:
    aside = one.with_name("aside")
    one.rename(aside)
    other.rename(one)
    aside.rename(other)


def link(path: Path) -> None:
    elsewhere = path.parents[3] / f"elsewhere-{path.name}"
    path.rename(elsewhere)
    path.symlink_to(elsewhere)


def chained(log: Path, keep: Callable[[int, LogEvent], bool], *more: LogEvent) -> None:
    """The log written anew with every check right, from the events that are kept and more."""
    events = [e for n, e in enumerate(read_log(log).events) if keep(n, e)]
    log.unlink()
    append(log, lambda _: [*events, *more])


def stranger_signs(log: Path, shop: Path) -> None:
    """A head made anew with another key than the shop's."""
    raw = log.read_bytes()
    log.with_name(HEAD).unlink()
    log.write_bytes(b"")
    with pytest.MonkeyPatch.context() as bench:
        bench.setenv("BURNIN_SHOP", str(shop))
        shop_key()
        vouching(log)([], checks(raw))
        log.write_bytes(raw)


def in_turn(*alter: Callable[[Path, Made], object]) -> Callable[[Path, Made], object]:
    """One alteration after the other."""

    def carry_out(folder: Path, made: Made) -> None:
        for each in alter:
            each(folder, made)

    return carry_out


NOTE = LogEvent("2026-03-02T23:00:00.000Z", "noted", "J. Wren", {"text": "all is well"})
Alter = Callable[[Path, Made], object]
ALTERATIONS: dict[str, Alter] = {
    "log emptied": lambda t, _: (t / LOG).write_bytes(b""),
    "log gone": lambda t, _: (t / LOG).unlink(),
    "log and head gone": lambda t, _: shutil.rmtree(t / "ticket"),
    "log cut to its first line": lambda t, _: (t / LOG).write_bytes(
        (t / LOG).read_bytes().split(b"\n")[0] + b"\n"
    ),
    "log without its last line": lambda t, _: (t / LOG).write_bytes(
        b"\n".join((t / LOG).read_bytes().split(b"\n")[:-2]) + b"\n"
    ),
    "log made anew without a note": lambda t, _: chained(t / LOG, lambda _, e: e.kind != "noted"),
    "log made anew without the failed run": lambda t, m: chained(
        t / LOG, lambda _, e: e.fields.get("run") != m.failed
    ),
    "failed run taken from log and folder": in_turn(
        lambda t, m: chained(t / LOG, lambda _, e: e.fields.get("run") != m.failed),
        lambda t, m: shutil.rmtree(t / m.failed),
    ),
    "a line put at the log's end": lambda t, _: append(t / LOG, lambda _: [NOTE]),
    "log anew and head gone": in_turn(
        lambda t, _: chained(t / LOG, lambda _, e: e.kind != "noted"),
        lambda t, _: (t / LOG).with_name(HEAD).unlink(),
    ),
    "log of an older tool made up": in_turn(
        lambda t, _: chained(t / LOG, lambda _, e: e.kind in ("run_begun", "run_ended")),
        lambda t, _: (t / LOG).with_name(HEAD).unlink(),
    ),
    "head gone": lambda t, _: (t / LOG).with_name(HEAD).unlink(),
    "head of an earlier state": lambda t, m: shutil.copy(
        m.early / "4711" / "ticket" / HEAD, t / "ticket" / HEAD
    ),
    "log and head of an earlier state": in_turn(
        lambda t, m: shutil.copy(m.early / "4711" / "ticket" / HEAD, t / "ticket" / HEAD),
        lambda t, m: shutil.copy(m.early / "4711" / LOG, t / LOG),
    ),
    "head signed by a stranger": lambda t, _: stranger_signs(t / LOG, t.parents[1] / "stranger"),
    "logs of two tickets swapped": lambda t, _: swap(
        t / "ticket", t.with_name("4712") / "ticket"
    ),
    "two tickets swapped": lambda t, _: swap(t, t.with_name("4712")),
    "two runs swapped": lambda t, m: swap(t / m.failed, t / m.passed),
    "passing run in the failed one's place": in_turn(
        lambda t, m: shutil.rmtree(t / m.failed),
        lambda t, m: shutil.copytree(t / m.passed, t / m.failed),
    ),
    "run of another ticket put in": lambda t, m: shutil.copytree(
        t.with_name("4712") / m.passed, t / "20260302T130000Z-t"
    ),
    "run of another ticket in a run's place": in_turn(
        lambda t, m: shutil.rmtree(t / m.passed),
        lambda t, m: shutil.copytree(t.with_name("4712") / m.passed, t / m.passed),
    ),
    "failed run taken away": lambda t, m: shutil.rmtree(t / m.failed),
    "passing run taken away": lambda t, m: shutil.rmtree(t / m.passed),
    "failed run emptied": in_turn(
        lambda t, m: shutil.rmtree(t / m.failed),
        lambda t, m: (t / m.failed).mkdir(),
    ),
    "a copy of a run added": lambda t, m: shutil.copytree(t / m.passed, t / "copy"),
    "readings edited": lambda t, m: edit(t / m.passed / "readings.csv", b"pass", b"fail"),
    "readings edited, list anew": in_turn(
        lambda t, m: edit(t / m.failed / "readings.csv", b"fail", b"pass"),
        lambda t, m: relisted(t / m.failed),
    ),
    "list and signature of a run gone": in_turn(
        lambda t, m: (t / m.failed / CHECKSUMS).unlink(),
        lambda t, m: (t / m.failed / SIGNATURE).unlink(),
    ),
    "signature of a run gone": lambda t, m: (t / m.failed / SIGNATURE).unlink(),
    "run signed by a stranger": lambda t, m: sign_record(t / m.failed, t.parents[1] / "stranger"),
    "a table gone": lambda t, m: (t / m.passed / "samples.csv").unlink(),
    "samples cut": lambda t, m: (t / m.passed / "samples.csv").write_bytes(
        (t / m.passed / "samples.csv").read_bytes()[:-40]
    ),
    "a table a link": lambda t, m: link(t / m.passed / "samples.csv"),
    "a run a link": in_turn(
        lambda t, m: (t / m.failed).rename(t.parents[1] / "moved"),
        lambda t, m: (t / m.failed).symlink_to(t.parents[1] / "moved"),
    ),
    "the list a link": lambda t, m: link(t / m.passed / CHECKSUMS),
    "a dot file in a run": lambda t, m: (t / m.passed / ".note").write_text("x"),
    "an empty folder in a run": lambda t, m: (t / m.passed / "more").mkdir(),
    "a pipe in a run": lambda t, m: os.mkfifo(t / m.passed / "pipe"),
    "a dot file in the ticket": lambda t, _: (t / ".note").write_text("x"),
    "a dot file beside the log": lambda t, _: (t / "ticket" / ".events.jsonl").write_text("x"),
    "an empty folder in the ticket": lambda t, _: (t / "more").mkdir(),
    "the log a link": lambda t, _: link(t / LOG),
    "the ticket's part a link": in_turn(
        lambda t, _: (t / "ticket").rename(t.parents[1] / "moved"),
        lambda t, _: (t / "ticket").symlink_to(t.parents[1] / "moved"),
    ),
    "photo changed": lambda t, _: next((t / PHOTOS).iterdir()).write_bytes(b"other"),
    "photo gone": lambda t, _: next((t / PHOTOS).iterdir()).unlink(),
    "photo a link": lambda t, _: link(next((t / PHOTOS).iterdir())),
    "photo added": lambda t, _: (t / PHOTOS / "more.jpg").write_bytes(b"x"),
    "cold starts gone": lambda t, _: (t / "ticket" / STARTS).unlink(),
    "cold starts made anew": lambda t, _: chained(
        t / "ticket" / STARTS, lambda *_: False, NOTE
    ),
    "first handover gone": lambda t, m: shutil.rmtree(t / m.first.folder.name),
    "second handover gone": lambda t, m: shutil.rmtree(t / m.second.folder.name),
    "handovers swapped": lambda t, m: swap(
        t / m.first.folder.name, t / m.second.folder.name
    ),
    "a handover copied": lambda t, m: shutil.copytree(
        t / m.first.folder.name, t / "handover-20260302T200000Z"
    ),
    "a sheet edited": lambda t, m: edit(
        t / m.first.folder.name / "customer.html", b"Ottilie", b"Ottokar"
    ),
    "a sheet edited, list anew": in_turn(
        lambda t, m: edit(t / m.first.folder.name / "customer.html", b"Ottilie", b"Ottokar"),
        lambda t, m: relisted(t / m.first.folder.name),
    ),
    "a handover signed by a stranger": in_turn(
        lambda t, m: edit(t / m.first.folder.name / "customer.html", b"Ottilie", b"Ottokar"),
        lambda t, m: relisted(t / m.first.folder.name),
        lambda t, m: sign_record(t / m.first.folder.name, t.parents[1] / "stranger"),
    ),
    "sheets of the other handover": lambda t, m: shutil.copy(
        t / m.first.folder.name / "customer.pdf", t / m.second.folder.name / "customer.pdf"
    ),
    "facts edited": lambda t, m: edit(t / m.first.folder.name / FACTS, b"Ottilie", b"Ottokar"),
}
"""What is done to the copy; `Made` gives the names."""


@pytest.mark.parametrize("name", ALTERATIONS)
def test_every_alteration_is_told(name: str, there: Path, made: Made) -> None:
    ALTERATIONS[name](there, made)
    found = check(there)
    assert not found.good
    for fault in found.faults:
        assert say(fault)
        assert sagen(fault)


# What lies outside a handover and what it stands on says nothing of it.
ELSEWHERE = {
    *("a sheet edited", "a sheet edited, list anew", "a handover signed by a stranger"),
    "two tickets swapped",
}


@pytest.mark.parametrize("name", sorted({*ALTERATIONS} - ELSEWHERE))
def test_the_newest_handover_tells_it_too(name: str, there: Path, made: Made) -> None:
    ALTERATIONS[name](there, made)
    if not (there / made.second.folder.name).exists():
        return
    assert not check(there / made.second.folder.name).good


def test_what_nobody_touched_passes(there: Path, made: Made) -> None:
    for path in (
        there,
        there / made.failed,
        there / made.passed,
        there / made.passed / "readings.csv",
        there / made.first.folder.name,
        there / made.second.folder.name,
        there / made.first.folder.name / "customer.pdf",
        there / made.second.folder.name / "internal.html",
        there.with_name("4712"),
    ):
        found = check(path)
        assert found.good, (path, [say(fault) for fault in found.faults])
    (whole,) = (n for n in check(there).told if n.means(ChainNote.WHOLE))
    assert say(whole).startswith("ticket 4711: runs 2, of which 1 do not count; handovers 2; head ")


def test_a_sheet_made_anew_in_another_language_passes(there: Path, made: Made) -> None:
    run = there / made.passed
    before = (run / CHECKSUMS).read_bytes()
    paths, faults = sheet_anew(run, "letter", "de")
    assert not faults
    assert paths
    assert (run / CHECKSUMS).read_bytes() != before
    assert check(run).good
    assert check(there).good
    assert check(there / made.first.folder.name).good
    (run / ".note").write_text("put in")
    assert sheet_anew(run, "a4", "en")[1]
    assert not check(run).good
    (run / ".note").unlink()


def test_a_record_that_goes_on_being_worked_on_stays_good(there: Path, made: Made) -> None:
    more = add(read_ticket(there.parent, "4711"), "reopened", {}, now=at(7))
    signed(run_of(add(more, "noted", {"text": "x"}, now=at(7.1)), 8))
    assert check(there).good
    assert check(there / made.second.folder.name).good
    again = hand_over(read_ticket(there.parent, "4711"), paper="letter", now=at(9))
    assert check(again.folder).good
    assert check(there / made.first.folder.name).good


def test_putting_all_back_is_told_by_what_was_handed_out(there: Path, made: Made) -> None:
    printed = made.second.fingerprint
    noted = next(n for n in check(there).told if n.means(ChainNote.WHOLE))["head"]
    assert isinstance(noted, str)
    for head in (printed, noted, made.first.fingerprint):
        assert check(there, head=head).good
        assert check(there / made.second.folder.name, head=head).good
        assert check(there / made.passed, head=head).good
    shutil.rmtree(there)
    shutil.copytree(made.early / "4711", there)
    assert check(there).good
    assert check(there, head=made.first.fingerprint).good
    for head in (printed, noted):
        assert check(there, head=head).faults == (ChainReason.ROLLED_BACK(head=head),)
    assert find_fingerprint(there.parent, printed) == ChainReason.NO_HANDOVER_OF(
        folder=str(there.parent), fingerprint=printed
    )


def test_a_sheet_on_another_bench_needs_the_public_key_alone(
    there: Path, made: Made, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    carried = tmp_path / "carried"
    shutil.copytree(there / made.second.folder.name, carried / made.second.folder.name)
    public = tmp_path / "shop.pem"
    shutil.copy(made.shop / PUBLIC_FILE, public)
    monkeypatch.setenv("BURNIN_SHOP", str(tmp_path / "no shop"))
    sheet = carried / made.second.folder.name / "customer.pdf"
    found = check(sheet, public)
    assert found.good
    assert ChainNote.ALONE() in found.told
    assert check(sheet.parent, public).good
    assert check(sheet, public, head=made.second.fingerprint).good
    assert not check(sheet, public, head=made.first.fingerprint).good
    assert check(there, public).good
    assert check(there / made.second.folder.name, public).good
    assert not (tmp_path / "no shop").exists()
    edit(sheet, b"PDF", b"PdF")
    assert not check(sheet, public).good
    shop_key(tmp_path / "stranger")
    assert not check(there, tmp_path / "stranger" / PUBLIC_FILE).good


def test_a_copy_of_hard_links_is_as_it_left(there: Path, made: Made, tmp_path: Path) -> None:
    backup = tmp_path / "backup" / "4711"
    shutil.copytree(there, backup, copy_function=os.link)
    assert check(backup).good
    assert check(there).good
    assert check(backup / made.passed).good


def test_a_record_alone_is_as_it_left_wherever_it_is_carried(
    there: Path, made: Made, tmp_path: Path
) -> None:
    shutil.copytree(there / made.passed, tmp_path / "carried" / "run")
    assert check(tmp_path / "carried" / "run").good


def test_each_run_names_its_ticket_s_gap(there: Path, made: Made) -> None:
    shutil.rmtree(there / made.failed)
    gone = ChainReason.RUN_GONE(run=made.failed)
    assert gone in check(there / made.passed).faults
    assert gone in check(there / made.passed / "readings.csv").faults
    assert gone in check(there / made.first.folder.name / "customer.pdf").faults


def test_the_fingerprint_covers_runs_log_and_handovers(made: Made) -> None:
    raw = (made.second.folder / FACTS).read_bytes()
    assert hashlib.sha256(raw).hexdigest().startswith(made.second.fingerprint)
    content = json.loads(raw)
    assert content["runs_count"] == 2
    assert [row["folder"] for row in content["runs"]] == [made.passed]
    (left_out,) = content["runs_left_out"]
    assert left_out["folder"] == made.failed
    assert left_out["why"]["code"] == "left_out_before_work"
    assert content["handovers"] == [
        {"folder": made.first.folder.name, "fingerprint": made.first.fingerprint}
    ]


def test_verify_of_a_folder_s_own_files_needs_no_ticket(there: Path, made: Made) -> None:
    assert verify(there / made.passed).good
