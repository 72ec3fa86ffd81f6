"""Failing words kept: the file's rows, counts by bit, stride and hint, written out by hand."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from burnin.core.meaning import Cause
from burnin.engine.job import FailingWord
from burnin.engine.meanings import EngineCause, EngineTerm
from burnin.engine.memory.failing_words import COLUMNS, EXAMPLES, FailingWords


def add(
    into: FailingWords, addresses: list[int], flips: list[int] | int = 1, pattern: str = "solid",
    step: int = 0, round_number: int = 0,
) -> list[FailingWord]:  # fmt: skip
    """Words that should have been zero."""
    got = [flips] * len(addresses) if isinstance(flips, int) else flips
    return into.add(
        np.array(addresses, np.uint64), np.zeros(len(addresses), np.uint32),
        np.array(got, np.uint32), pattern, step, round_number,
    )  # fmt: skip


def test_words_are_listed_in_the_order_of_their_addresses_with_all_that_is_known(
    tmp_path: Path,
) -> None:
    file = tmp_path / "words.csv"
    kept = FailingWords(str(file), 100)
    new = kept.add(
        np.array([9, 2**33 + 1], np.uint64)[::-1], np.array([0xF0, 0x0F], np.uint32),
        np.array([0xF1, 0x8000000F], np.uint32), "march", 7, 3,
    )  # fmt: skip
    kept.close()
    assert file.read_text() == COLUMNS + (
        "0x000000000024,0x0000000f,0x8000000f,0x80000000,march,7,3\n"
        "0x000800000004,0x000000f0,0x000000f1,0x00000001,march,7,3\n"
    )
    assert new == kept.examples == [
        FailingWord(36, 0x0F, 0x8000000F, "march"), FailingWord(2**35 + 4, 0xF0, 0xF1, "march"),
    ]  # fmt: skip
    assert (kept.total, kept.listed, dict(kept.by_pattern)) == (2, 2, {"march": 2})
    assert kept.bits == [1, *[0] * 30, 1]


def test_a_file_that_is_gone_on_with_has_one_header(tmp_path: Path) -> None:
    file = tmp_path / "words.csv"
    for _ in range(2):
        kept = FailingWords(str(file), 100)
        add(kept, [1])
        kept.close()
        kept.close()
    assert file.read_text().count(COLUMNS) == 1
    assert len(file.read_text().splitlines()) == 3


def test_beyond_the_limit_words_are_counted_and_not_listed(tmp_path: Path) -> None:
    file = tmp_path / "words.csv"
    kept, listing = FailingWords(str(file), 3), []
    for addresses in ([1, 2], [3, 4, 5], [6]):
        listing.append(kept.listing)
        add(kept, addresses)
    kept.close()
    assert listing == [True, True, False]
    assert (kept.total, kept.listed) == (6, 3)
    assert [line[:14] for line in file.read_text().splitlines()[1:]] == [
        "0x000000000004", "0x000000000008", "0x00000000000c",
    ]  # fmt: skip


def test_without_a_file_words_are_counted_all_the_same() -> None:
    kept = FailingWords("", 10)
    assert add(kept, []) == []
    assert (kept.total, kept.hint(), kept.stride_bytes) == (0, None, 0)
    add(kept, [1, 2], pattern="a")
    kept.count_only(5, "b", (1, 0, 2))
    kept.count_only(4, "b")
    assert kept.total == 11
    assert dict(kept.by_pattern) == {"a": 2, "b": 9}
    assert kept.bits == [3, 0, 2, *[0] * 29]
    assert kept.listed == 2


def test_the_first_words_are_examples_and_no_more() -> None:
    kept = FailingWords("", 10_000)
    assert len(add(kept, list(range(EXAMPLES - 1)))) == EXAMPLES - 1
    assert [word.address_bytes for word in add(kept, [500, 501])] == [2000]
    assert add(kept, [900]) == []
    assert len(kept.examples) == EXAMPLES == 64


@pytest.mark.parametrize(
    ("addresses", "stride_bytes"),
    [
        ([5], 0), ([5, 5], 0), ([0, 1, 2, 3], 4), ([0, 16, 32, 33], 64), ([0, 16, 33], 0),
        ([0, 16, 32, 49, 66], 0), ([64, 0, 32], 128),
    ],
)  # fmt: skip
def test_the_stride_is_that_of_more_than_half_of_the_neighbours(
    addresses: list[int], stride_bytes: int
) -> None:
    kept = FailingWords("", 100)
    add(kept, addresses)
    assert kept.stride_bytes == stride_bytes


@pytest.mark.parametrize(
    ("flips", "addresses", "hint"),
    [
        (1 << 9, [3], EngineCause.ONE_BIT(bit=9, spacing=None)),
        (1 << 31, [3, 4], EngineCause.ONE_BIT(bit=31, spacing=EngineTerm.SIDE_BY_SIDE())),
        (1, [0, 8], EngineCause.ONE_BIT(bit=0, spacing=EngineTerm.APART(stride_bytes=32))),
        (0x0300, [3], EngineCause.ONE_BYTE(first_bit=8, last_bit=9, spacing=None)),
        (0xFF000000, [3], EngineCause.ONE_BYTE(first_bit=24, last_bit=31, spacing=None)),
        (0x0180, [3], EngineCause.ONE_HALF_WORD(first_bit=7, last_bit=8, spacing=None)),
        (0xFFFF0000, [3], EngineCause.ONE_HALF_WORD(first_bit=16, last_bit=31, spacing=None)),
        (0x00018000, [3], EngineCause.BITS_ALL_OVER(spacing=None)),
    ],
)
def test_bits_and_stride_point_at_a_place(flips: int, addresses: list[int], hint: Cause) -> None:
    kept = FailingWords("", 100)
    add(kept, addresses, flips)
    assert kept.hint() == hint


@pytest.mark.parametrize(("words_count", "one_bit"), [(20, True), (19, False)])
def test_a_bit_that_is_flipped_in_a_twentieth_of_the_words_points_at_nothing(
    words_count: int, one_bit: bool
) -> None:
    kept = FailingWords("", 100)
    flips = [1 << 3] * words_count
    flips[0] |= 1 << 30
    add(kept, [7 * n * n for n in range(words_count)], flips)
    hint = kept.hint()
    assert hint is not None
    assert hint.means(EngineCause.ONE_BIT) == one_bit
