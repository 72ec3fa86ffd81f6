"""Drawn faults of drawn cards are told by class and rule, as often as is asked."""

from __future__ import annotations

import numpy as np
import pytest

from burnin.diagnosis.memory_fault.answer import FaultClass
from burnin.diagnosis.memory_fault.explain_words import explain_words
from burnin.diagnosis.memory_fault.failing_words import FailingWords
from burnin.diagnosis.memory_fault.meanings import MemoryUnknown
from tests.diagnosis.memory_fault.drawn_cases import ALL, drawn_case
from tests.diagnosis.memory_fault.scores import Scores, scored

SEED = 40_000


def words(
    address: list[int], expected: list[int], got: list[int], **changes: object
) -> FailingWords:
    count = len(address)
    content: dict[str, object] = {
        "address_bytes": np.array(address, np.uint64),
        "expected": np.array(expected, np.uint32),
        "got": np.array(got, np.uint32),
        "pattern": np.zeros(count, np.uint8),
        "pattern_names": ("solid",),
        "pass_number": np.zeros(count, np.uint16),
        "memory_c": np.full(count, np.nan),
        "swept_bytes": 1 << 33,
        "failing_total": count,
    }
    return FailingWords(**(content | changes))  # type: ignore[arg-type]


@pytest.mark.parametrize("fault", ALL)
def test_each_class_is_told_of_300_words(fault: FaultClass) -> None:
    right = 0
    for seed in range(4):
        case = drawn_case(SEED + seed, 300, 0.02, fault)
        right += explain_words(case.words).first.fault is fault
    assert right >= 3


def test_probabilities_sum_to_one_and_fall() -> None:
    answer = explain_words(drawn_case(SEED, 300).words)
    told = [chance.probability for chance in answer.chances]
    assert sum(told) == pytest.approx(1.0)
    assert told == sorted(told, reverse=True)
    assert {chance.fault for chance in answer.chances} == set(FaultClass)


def test_the_stuck_bit_is_named_and_strays_are_left_over() -> None:
    case = drawn_case(SEED + 3, 1000, 0.03, FaultClass.DATA_LINE)
    answer = explain_words(case.words)
    flipped = np.bitwise_or.reduce(case.words.flipped[:50])
    assert len(answer.affected_bits) == 1
    assert int(flipped) >> answer.affected_bits[0] & 1
    assert answer.explained + answer.left_over == len(case.words)
    assert 0 < answer.left_over <= 40


def test_one_failing_word_is_few_cells_at_most_and_says_so() -> None:
    answer = explain_words(words([0x1000], [0], [4]))
    assert answer.first.fault is FaultClass.CELLS
    assert answer.affected_bits == (2,)
    assert answer.places == 1


def test_no_failing_word_is_nothing_to_explain() -> None:
    with pytest.raises(ValueError, match="nothing to explain"):
        explain_words(words([], [], []))


def test_two_faults_are_told_one_after_the_other() -> None:
    random = np.random.default_rng(9)
    at = random.integers(0, 1 << 30, 4000, dtype=np.uint64) * np.uint64(4)
    line = at[at // np.uint64(256) % np.uint64(8) == 3][:300]
    cells = np.repeat(np.array([0x1230, 0x77_0010], np.uint64), 60)
    both = words(
        [*line.tolist(), *cells.tolist()],
        [0] * (len(line) + 120),
        [1 << 5] * len(line) + [1 << 20] * 120,
    )
    answer = explain_words(both)
    assert answer.first.fault is FaultClass.DATA_LINE
    assert answer.left is not None
    assert answer.left.first.fault is FaultClass.CELLS
    assert answer.left.affected_bits == (20,)


def test_a_list_of_the_first_words_does_not_speak_of_high_bits() -> None:
    at = np.arange(0, 1 << 20, 4, dtype=np.uint64)
    of = at[at // np.uint64(256) % np.uint64(8) == 5][:4000]
    first = words(
        of.tolist(), [0] * len(of), [1] * len(of), failing_total=40_000_000_000, swept_bytes=1 << 34
    )
    answer = explain_words(first)
    assert answer.first.fault is FaultClass.DATA_LINE
    assert sorted(parity.bits for parity in answer.rule.parities) == [(8,), (9,), (10,)]
    assert any(note.means(MemoryUnknown.HIGH_BITS) for note in answer.unknown)


def test_columns_of_different_length_and_words_outside_are_refused() -> None:
    with pytest.raises(ValueError, match="length"):
        words([4, 8], [0], [1])
    with pytest.raises(ValueError, match="outside"):
        words([1 << 33], [0], [1])


@pytest.mark.long
@pytest.mark.parametrize(
    ("count", "strays", "classes", "rules"),
    [
        (300, 0.0, 0.95, 0.93),
        (300, 0.03, 0.93, 0.90),
        (3000, 0.02, 0.95, 0.93),
        (30, 0.0, 0.85, 0.65),
    ],
)
def test_classes_and_rules_are_right_as_often_as_is_asked(
    count: int, strays: float, classes: float, rules: float
) -> None:
    scores: Scores = scored(range(SEED, SEED + 270), count, strays)
    assert scores.classes_right >= classes
    assert scores.rules_right >= rules
    assert scores.calibration_error <= 0.08
