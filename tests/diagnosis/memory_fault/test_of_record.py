"""A record's failing words, read through the one reader, and the causes told of them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from burnin.core.reading import Limit, Reading, judge
from burnin.diagnosis.memory_fault.answer import FaultClass
from burnin.diagnosis.memory_fault.meanings import MemoryCause, MemoryTerm
from burnin.diagnosis.memory_fault.of_record import explain_record, words_of_record
from burnin.diagnosis.memory_fault.told_causes import causes_of, rule_terms
from burnin.record.reader import Record, read_record
from burnin.report.languages.catalogue import catalogue
from tests.diagnosis.records import run_json, tables

HEADER = "address_bytes,expected,got,flipped_bits,pattern,step,pass\n"
STAGE = "4-memory"


def line(at: int, expected: int, got: int, pattern: str = "solid", number: int = 0) -> str:
    words = f"0x{at:012x},0x{expected:08x},0x{got:08x},0x{expected ^ got:08x}"
    return f"{words},{pattern},0,{number}\n"


def record_of(folder: Path, text: str, failed: int = 0, tested_gib: float = 0.0) -> Record:
    found = [
        judge("failing_words", float(failed), "", Limit(0, 0)),
        judge("tested_gib", tested_gib, "GiB", None),
    ]
    run_json(folder, [{"stage": STAGE, "kind": "memory"}])
    tables(folder, [Reading(**(vars(reading) | {"stage": STAGE})) for reading in found])
    (folder / "failing_words.csv").write_text(text, "utf-8")
    return read_record(folder)


def stuck_line(modulus: int = 6) -> str:
    at = np.random.default_rng(3).integers(0, 1 << 30, 400 * modulus) * 4
    at = at[at // 512 % modulus == 1]
    return HEADER + "".join(line(int(a), 0, 1 << 7) for a in at)


def test_all_that_the_record_tells_is_in_the_words(tmp_path: Path) -> None:
    text = HEADER + line(0x100, 1, 3) + line(0x2000, 0xFFFF_FFFF, 0, "march", 2)
    words = words_of_record(record_of(tmp_path, text, failed=9000, tested_gib=4.0))
    assert words is not None
    assert words.address_bytes.tolist() == [0x100, 0x2000]
    assert words.flipped.tolist() == [2, 0xFFFF_FFFF]
    assert [words.pattern_names[n] for n in words.pattern] == ["solid", "march"]
    assert words.pass_number.tolist() == [0, 2]
    assert np.isnan(words.memory_c).all()
    assert (words.swept_bytes, words.failing_total) == (4 << 30, 9000)
    assert words.tested_c is None


def test_torn_and_strange_lines_are_left_out(tmp_path: Path) -> None:
    text = HEADER + line(0x100, 1, 3) + "0xzz,0x1,0x2,0x3,solid,0,0\n" + "0x200,0x1\n" + "0x3"
    record = record_of(tmp_path, text)
    words = words_of_record(record)
    assert words is not None
    assert words.address_bytes.tolist() == [0x100]
    assert words.failing_total == 2


def test_plain_cells_are_those_of_the_rows(tmp_path: Path) -> None:
    text = HEADER + line(4, 1, 3) + '0x8,0x1,0x2,0x3,"so,lid",1,0\n' + "torn\n" + line(8, 1, 2)
    record = record_of(tmp_path, text)
    rows = [
        (r.address_bytes, r.expected, r.got, r.pattern, r.step, r.pass_)
        for r in record.failing_words
    ]
    assert [tuple(word) for word in record.listed_words] == rows
    assert len(rows) == 3


@pytest.mark.parametrize("text", ["", HEADER, "address_bytes,got\n0x1,0x2\n", "a,a\n1,2\n"])
def test_a_record_without_failing_words_has_nothing_to_explain(tmp_path: Path, text: str) -> None:
    assert explain_record(record_of(tmp_path, text)) is None


def test_a_stuck_line_is_told_with_its_rule_in_both_languages(tmp_path: Path) -> None:
    answer = explain_record(record_of(tmp_path, stuck_line(), tested_gib=4.0))
    assert answer is not None
    assert answer.first.fault is FaultClass.DATA_LINE
    causes = causes_of(answer)
    assert causes[0][0] == MemoryCause.DATA_LINE(
        bits=(7,), where=MemoryTerm.ONE_OF(parts_count=6), warm=None
    )
    assert causes[0][1] == answer.first.probability
    told = MemoryTerm.REMAINDER(stripe_bytes=512, modulus=6, remainder=1)
    assert rule_terms(answer.rule) == (told,)
    named = causes_of(answer, ("M2A",))[0][0]
    assert named["where"] == MemoryTerm.NAMED_CHIP(chip="M2A")
    for language in ("en", "de"):
        words = catalogue(language)
        for meaning in (causes[0][0], named, *rule_terms(answer.rule), *answer.unknown):
            assert meaning.code not in words.say(meaning)
            assert "{" not in words.say(meaning)
