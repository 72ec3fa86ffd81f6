"""A board file tells chips by name, and is refused with file and place where it cannot."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from burnin.core.errors import BadInput
from burnin.diagnosis.memory_fault.board_file import EXAMPLE, chips_of, read_board
from burnin.diagnosis.memory_fault.explain_words import explain_words
from tests.diagnosis.memory_fault.test_explain_words import words
from tests.refusals import refused, words_of

PARITIES = 'name = "B"\nparities = [[8, 13], [9]]\nchips = ["A", "B", "C", "D"]\n'


def board_file(folder: Path, text: str) -> Path:
    path = folder / "board.toml"
    path.write_text(text, "utf-8")
    return path


def test_the_example_tells_channel_and_half() -> None:
    board = read_board(EXAMPLE)
    address = np.array([0, 1024, 5 * 1024, 6 * 1024], np.uint64)
    assert board.channel_of(address).tolist() == [0, 1, 5, 0]
    assert board.chip_of(0, 15) == "M1A"
    assert board.chip_of(5, 16) == "M6B"


def test_parities_number_the_channel(tmp_path: Path) -> None:
    board = read_board(board_file(tmp_path, PARITIES))
    address = np.array([0, 1 << 8, 1 << 13, (1 << 13) + (1 << 8), 1 << 9], np.uint64)
    assert board.channel_of(address).tolist() == [0, 1, 1, 0, 2]
    assert board.chip_of(2, 31) == "C"


def test_the_chip_of_a_stuck_line_is_named() -> None:
    at = np.random.default_rng(1).integers(0, 1 << 30, 3000, dtype=np.uint64) * np.uint64(4)
    at = at[at // np.uint64(1024) % np.uint64(6) == 3]
    failing = words(at.tolist(), [0] * len(at), [1 << 20] * len(at))
    answer = explain_words(failing)
    assert chips_of(read_board(EXAMPLE), failing, answer) == ("M4B",)


def test_words_all_over_the_board_name_no_chip() -> None:
    at = np.random.default_rng(2).integers(0, 1 << 30, 600, dtype=np.uint64) * np.uint64(4)
    failing = words(at.tolist(), [0] * len(at), [0x1234_5678] * len(at))
    assert chips_of(read_board(EXAMPLE), failing, explain_words(failing)) == ()


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("name = ", "is not valid TOML"),
        (PARITIES + "modulus = 3\n", "beside"),
        ('name = "B"\nchips = ["A"]\n', "either parities or"),
        (PARITIES.replace("[9]", "[9, 9]"), "parities: list 1"),
        (PARITIES.replace("[9]", "[1]"), "parities: list 1"),
        (PARITIES.replace('"D"', '"C"'), "chips: 4 different names"),
        (PARITIES + "data_lines_per_chip = 12\n", "data_lines_per_chip: 8, 16 or 32"),
        (PARITIES + "coulour = 1\n", "coulour"),
        ('name = "B"\nstripe_bytes = 300\nmodulus = 3\nchips = ["A", "B", "C"]', "stripe_bytes"),
        ('name = "B"\nstripe_bytes = 256\nmodulus = 1\nchips = ["A"]', "modulus: 2 to 64"),
    ],
)
def test_a_board_file_that_cannot_be_used_is_refused(
    tmp_path: Path, text: str, told: str
) -> None:
    path = board_file(tmp_path, text)
    with refused(BadInput, match=told) as caught:
        read_board(path)
    assert str(path) in words_of(caught.value)


def test_a_board_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with refused(BadInput, match="cannot be read"):
        read_board(tmp_path / "none.toml")
