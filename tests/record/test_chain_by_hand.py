"""The chain over rows as its description has it, worked out by hand, and where it breaks."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from pathlib import Path

import pytest

from burnin.core.events import StageStarted
from burnin.core.verdict import StageVerdict
from burnin.record.chain import (
    Chained,
    Head,
    against_heads,
    beginning,
    broken,
    chain_of,
    has_chain,
    record_head,
)
from burnin.record.journal import JournalEntry
from burnin.record.own_evidence import against_journal, edited_rows, is_chained, stages_told
from burnin.record.reader import read_record
from burnin.record.reasons import RecordReason
from tests.record import streams

HEADER = b"a,b,chain"
BODIES = (b"1,2", b'"x, y",', b"Pr\xc3\xbcfung,3")


def by_hand(before: str, body: bytes) -> str:
    """The first 16 hexadecimal digits of the SHA-256 of the check before and the cells."""
    return hashlib.sha256(before.encode() + b"\n" + body).hexdigest()[:16]


def checks_by_hand(table: str, header: bytes, bodies: tuple[bytes, ...]) -> list[str]:
    found = [by_hand(table, header)]
    for body in bodies:
        found.append(by_hand(found[-1], body))
    return found


def table_of(bodies: tuple[bytes, ...] = BODIES, name: str = "t.csv") -> list[bytes]:
    """Lines of a table with its checks."""
    checks = checks_by_hand(name, HEADER, bodies)[1:]
    rows = [body + b"," + check.encode() for body, check in zip(bodies, checks, strict=True)]
    return [HEADER, *rows]


def raw_of(lines: list[bytes]) -> bytes:
    return b"\n".join(lines) + b"\n"


def test_every_check_covers_its_row_and_all_before() -> None:
    expected = checks_by_hand("t.csv", HEADER, BODIES)
    chain = chain_of("t.csv", raw_of(table_of()))
    assert list(chain.checks) == expected
    assert chain.broken_line is None
    assert broken("t.csv", chain) == ()
    assert chain.head == Head(3, expected[-1])
    assert chain.head.as_plain() == {"rows": 3, "chain": expected[-1]}
    head = beginning("t.csv", ("a", "b", "chain"))
    assert head == Head(0, expected[0])
    for place, body in enumerate(BODIES, start=1):
        head = head.after(body)
        assert head == Head(place, expected[place])


def test_a_table_that_carries_no_checks_is_chained_as_it_is_read() -> None:
    chain = chain_of("w.csv", b"a,b\n1,2\n3,4\n")
    assert list(chain.checks) == checks_by_hand("w.csv", b"a,b", (b"1,2", b"3,4"))
    assert chain.broken_line is None


@pytest.mark.parametrize("raw", [None, b"", b"a,b,chain"])
def test_a_table_that_is_missing_or_has_no_header_has_no_rows(raw: bytes | None) -> None:
    chain = chain_of("t.csv", raw)
    assert chain == Chained(("",))
    assert chain.head == Head(0, "")


def test_the_first_line_that_does_not_follow_is_named_and_the_rest_goes_on_from_what_it_says() -> (
    None
):
    lines = table_of((b"1,2", b"3,4", b"5,6", b"7,8"))
    honest = [line.rpartition(b",")[2].decode() for line in lines[1:]]
    lines[2] = lines[2].replace(b"3,4", b"3,5")
    chain = chain_of("t.csv", raw_of(lines))
    assert chain.broken_line == 3
    assert list(chain.checks)[1:] == honest  # as the file tells them
    assert broken("t.csv", chain) == (RecordReason.CHAIN_BROKEN(file="t.csv", line=3),)
    lines[4] = lines[4].replace(b"7,8", b"7,9")
    assert chain_of("t.csv", raw_of(lines)).broken_line == 3


@pytest.mark.parametrize("cell", [b"", b"Pr\xc3\xbcfung", "0123456789abcdeß".encode()])
def test_a_check_that_is_none_breaks_the_chain(cell: bytes) -> None:
    lines = table_of((b"1,2", b"3,4"))
    lines[1] = b"1,2," + cell
    assert chain_of("t.csv", raw_of(lines)).broken_line == 2


def test_a_torn_row_is_no_part_of_the_chain() -> None:
    raw = raw_of(table_of((b"1,2", b"3,4")))
    chain = chain_of("t.csv", raw[:-4])
    assert (chain.head.rows, chain.broken_line) == (1, None)


def test_whether_rows_carry_checks_is_told_by_the_last_column() -> None:
    assert has_chain(b"a,chain\n")
    assert not has_chain(b"chain,a\n")
    assert not has_chain(b"a,chain")
    assert not has_chain(b"")
    assert not has_chain(None)


# ---- against the journal's heads

CHAIN = Chained(("h", "a", "b", "c", "d"))


def told(rows: object, check: object) -> dict[str, object]:
    return {"t.csv": {"rows": rows, "chain": check}}


def against(*heads: dict[str, object], closed: bool = True) -> tuple[object, ...]:
    return against_heads({"t.csv": CHAIN}, heads, closed=closed)


def test_heads_that_the_table_bears_out_say_nothing() -> None:
    assert against(told(0, "anything"), told(2, "b"), told(4, "d")) == ()
    assert against(told(2, "b"), closed=False) == ()
    assert against() == ()
    assert against({}) == ()
    assert against({"other.csv": {"rows": 9, "chain": "x"}}) == ()


def test_rows_that_are_gone_are_counted() -> None:
    assert against(told(2, "b"), told(7, "g"), told(9, "i")) == (
        RecordReason.ROWS_GONE(file="t.csv", rows_count=3),
    )


def test_rows_that_were_changed_lie_between_two_heads() -> None:
    changed = RecordReason.ROWS_CHANGED(file="t.csv", from_row=2, to_row=3)
    assert against(told(1, "a"), told(3, "x"), told(4, "y")) == (changed,)
    assert against(told(3, "x")) == (RecordReason.ROWS_CHANGED(file="t.csv", from_row=1, to_row=3),)


def test_rows_after_the_end_of_a_closed_run_were_added() -> None:
    added = RecordReason.ROWS_ADDED(file="t.csv", rows_count=2)
    assert against(told(1, "a"), told(2, "b")) == (added,)
    assert against(told(1, "a"), told(2, "b"), closed=False) == ()
    # each table is named once, for what is worst
    assert len(against(told(2, "x"))) == 1


@pytest.mark.parametrize(
    "head",
    [
        None, 3, "3", [], {"rows": "2", "chain": "x"}, {"rows": True, "chain": "x"},
        {"rows": -1, "chain": "x"}, {"rows": 2, "chain": 5}, {"rows": 2}, {"chain": "x"},
        {"rows": 2.0, "chain": "x"},
    ],
)  # fmt: skip
def test_a_head_that_cannot_be_understood_vouches_for_nothing(head: object) -> None:
    assert against({"t.csv": head}) == ()
    assert against({"t.csv": head}, told(4, "d")) == ()


def test_tables_are_told_apart() -> None:
    heads = [{"one.csv": {"rows": 1, "chain": "x"}, "two.csv": {"rows": 3, "chain": "c"}}]
    tables = {"one.csv": Chained(("h", "a")), "two.csv": Chained(("h", "a", "b"))}
    assert against_heads(tables, heads, closed=True) == (
        RecordReason.ROWS_CHANGED(file="one.csv", from_row=1, to_row=1),
        RecordReason.ROWS_GONE(file="two.csv", rows_count=1),
    )


def test_a_record_without_a_chained_journal_has_no_head(tmp_path: Path) -> None:
    assert record_head(tmp_path) == ""
    (tmp_path / "journal.csv").write_bytes(raw_of(table_of(name="journal.csv")))
    assert record_head(tmp_path) == checks_by_hand("journal.csv", HEADER, BODIES)[-1]
    (tmp_path / "journal.csv").write_bytes(b"a,b\n1,2\n")
    assert record_head(tmp_path) == ""


# ---- what the files of a record say against each other


def edited(files: dict[str, bytes], *journal: JournalEntry) -> tuple[object, ...]:
    return edited_rows(files.get, journal)


def entry(event: str, **heads: dict[str, object]) -> JournalEntry:
    detail: dict[str, object] = {"heads": {f"{name}.csv": head for name, head in heads.items()}}
    return JournalEntry(1.0, "", event, "", detail if heads else {})


def readings(*bodies: bytes) -> dict[str, bytes]:
    return {"readings.csv": raw_of(table_of(bodies, "readings.csv"))}


GOOD = {"rows": 2, "chain": checks_by_hand("readings.csv", HEADER, (b"1,2", b"3,4"))[-1]}


def test_rows_that_the_journal_vouches_for_are_as_they_were() -> None:
    files = readings(b"1,2", b"3,4")
    assert edited(files, entry("RunStarted", readings=GOOD)) == ()
    assert edited(files, entry("RunFinished", readings=GOOD)) == ()
    more = readings(b"1,2", b"3,4", b"5,6")
    assert edited(more, entry("StageFinished", readings=GOOD)) == ()  # still being written
    added = RecordReason.ROWS_ADDED(file="readings.csv", rows_count=1)
    assert edited(more, entry("RunFinished", readings=GOOD)) == (added,)
    # the run went on after that end: nothing is closed
    assert edited(more, entry("RunFinished", readings=GOOD), entry("RunStarted")) == ()
    # what is told by an event that carries no heads vouches for nothing
    wrong = {"rows": 2, "chain": "x"}
    assert edited(files, entry("Noted", readings=wrong)) == ()
    assert edited(files, entry("StageStarted", readings=wrong)) == (
        RecordReason.ROWS_CHANGED(file="readings.csv", from_row=1, to_row=2),
    )


def test_a_table_that_is_gone_is_told_as_missing_and_not_as_edited() -> None:
    assert edited({}, entry("RunFinished", readings=GOOD)) == ()


def test_failing_words_that_are_gone_are_missed() -> None:
    """A record without failing words has no such file, so that its absence is no flaw alone."""
    words = {"rows": 2, "chain": "x"}
    assert edited(readings(b"1,2"), entry("RunFinished", failing_words=words)) == (
        RecordReason.ROWS_GONE(file="failing_words.csv", rows_count=2),
    )


def test_a_table_with_a_flaw_of_its_own_is_named_once() -> None:
    files = readings(b"1,2", b"3,4")
    raw = files["readings.csv"].replace(b"3,4", b"3,5")
    flaw = RecordReason.CHAIN_BROKEN(file="readings.csv", line=3)
    wrong = {"rows": 5, "chain": "x"}
    assert edited({"readings.csv": raw}, entry("RunFinished", readings=wrong)) == (flaw,)


def test_a_journal_with_a_flaw_vouches_for_nothing() -> None:
    journal = raw_of(table_of((b"1,2",), "journal.csv")).replace(b"1,2", b"1,3")
    files = {**readings(b"1,2"), "journal.csv": journal}
    wrong = {"rows": 5, "chain": "x"}
    assert edited(files, entry("RunFinished", readings=wrong)) == (
        RecordReason.CHAIN_BROKEN(file="journal.csv", line=2),
    )


def test_a_table_whose_checks_are_gone_is_named() -> None:
    files = {"samples.csv": b"a,b\n1,2\n", "not_read.csv": b"", **readings(b"1,2")}
    assert edited(files) == (RecordReason.CHAIN_GONE(file="samples.csv"),)
    assert is_chained(files.get)
    assert not is_chained({"samples.csv": b"a,b\n"}.get)


def begun(**detail: object) -> JournalEntry:
    whole = {"stage": "1-link", "kind": "link", "own_title": "", "taken_over": False, **detail}
    return JournalEntry(1.5, "", StageStarted.__name__, "1-link", whole)


def test_stages_are_told_by_a_journal_that_can_be_understood() -> None:
    [row] = stages_told((begun(own_title="Prüfung \ud800"),))
    assert (row.stage, row.kind, row.verdict) == ("1-link", "link", StageVerdict.INCOMPLETE)
    assert (row.own_title, row.started_s) == ("Prüfung ?", 1.5)
    assert stages_told((begun(taken_over="yes"),)) == ()  # this tool writes true or false
    assert stages_told((begun(kind=7),)) == ()
    assert stages_told(()) == ()


def test_run_json_is_compared_with_the_journal_that_is_there(tmp_path: Path) -> None:
    folder = streams.write(tmp_path / "r", sums=False)
    file = folder / "run.json"
    marked = "\ufeff" + file.read_text(encoding="utf-8")  # as some editors save it
    file.write_text(marked, encoding="utf-8")
    assert read_record(folder).condition.disagrees == ()
    content = json.loads(marked.removeprefix("\ufeff"))
    content["stages"][1]["verdict"] = "pass"
    file.write_text(json.dumps(content), encoding="utf-8")
    [flaw] = read_record(folder).condition.disagrees
    assert flaw == RecordReason.STAGES_DISAGREE(file="run.json", stages=("2-link",))
    (folder / "journal.csv").unlink()  # missing is told elsewhere, and disagrees with nothing
    assert read_record(folder).condition.disagrees == ()


def test_only_a_journal_that_ends_in_a_torn_line_may_know_less_than_run_json(
    tmp_path: Path,
) -> None:
    """The same bytes, whole and torn: what run.json knows of a stage more is an edit or none."""
    start = streams.stream()[0]
    folder = streams.write(tmp_path / "r", [start, StageStarted("1-link", "link", "", 1.0)],
                           sums=False)  # fmt: skip
    record = read_record(folder)
    files = {name: (folder / name).read_bytes() for name in ("run.json", "journal.csv")}
    *rest, last = files["journal.csv"].splitlines(keepends=True)
    first_alone = record.journal[:1]
    torn = {**files, "journal.csv": b"".join(rest) + last[:-1]}
    cut = {**files, "journal.csv": b"".join(rest)}
    assert against_journal(files.get, record.run, record.journal) == ()
    assert against_journal(torn.get, record.run, first_alone) == ()
    assert against_journal(cut.get, record.run, first_alone) == (
        RecordReason.STAGES_DISAGREE(file="run.json", stages=("1-link",)),
    )
    # nothing is compared with a journal that is not there, or a run.json that is not
    alone = {"run.json": files["run.json"]}
    assert against_journal(alone.get, record.run, ()) == ()
    assert against_journal({"journal.csv": b"a\n"}.get, record.run, record.journal) != ()


def test_the_profile_must_be_the_one_that_was_hashed(tmp_path: Path) -> None:
    record = read_record(streams.write(tmp_path / "r", sums=False))
    read = {name: (record.folder / name).read_bytes() for name in ("run.json", "journal.csv")}.get
    for text in ("format = 2\n", "format = 1\n\ud800"):
        profile = replace(record.run.profile, text=text)
        run = record.run.model_copy(update={"profile": profile})
        assert against_journal(read, run, record.journal) == (
            RecordReason.PROFILE_DISAGREES(file="run.json"),
        )
        digest = hashlib.sha256(text.encode("utf-8", "replace")).hexdigest()
        fitting = replace(profile, sha256=digest)
        run = record.run.model_copy(update={"profile": fitting})
        assert against_journal(read, run, record.journal) == ()
