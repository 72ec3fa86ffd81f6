"""A word in letters that can be read from across the bench: five dots wide, seven high.

Two rows of dots share a row of the terminal, in half blocks.
"""

from __future__ import annotations

_DOTS = {
    "A": "01110 10001 10001 11111 10001 10001 10001",
    "B": "11110 10001 10001 11110 10001 10001 11110",
    "C": "01110 10001 10000 10000 10000 10001 01110",
    "D": "11110 10001 10001 10001 10001 10001 11110",
    "E": "11111 10000 10000 11110 10000 10000 11111",
    "F": "11111 10000 10000 11110 10000 10000 10000",
    "G": "01110 10001 10000 10111 10001 10001 01110",
    "H": "10001 10001 10001 11111 10001 10001 10001",
    "I": "111 010 010 010 010 010 111",
    "J": "00111 00001 00001 00001 10001 10001 01110",
    "K": "10001 10010 10100 11000 10100 10010 10001",
    "L": "10000 10000 10000 10000 10000 10000 11111",
    "M": "10001 11011 10101 10101 10001 10001 10001",
    "N": "10001 11001 11001 10101 10011 10011 10001",
    "O": "01110 10001 10001 10001 10001 10001 01110",
    "P": "11110 10001 10001 11110 10000 10000 10000",
    "Q": "01110 10001 10001 10001 10101 10010 01101",
    "R": "11110 10001 10001 11110 10100 10010 10001",
    "S": "01111 10000 10000 01110 00001 00001 11110",
    "T": "11111 00100 00100 00100 00100 00100 00100",
    "U": "10001 10001 10001 10001 10001 10001 01110",
    "V": "10001 10001 10001 10001 10001 01010 00100",
    "W": "10001 10001 10001 10101 10101 11011 10001",
    "X": "10001 10001 01010 00100 01010 10001 10001",
    "Y": "10001 10001 01010 00100 00100 00100 00100",
    "Z": "11111 00001 00010 00100 01000 10000 11111",
    "Ä": "10001 01110 10001 10001 11111 10001 10001",
    "Ö": "10001 01110 10001 10001 10001 10001 01110",
    "Ü": "10001 00000 10001 10001 10001 10001 01110",
}
_HEIGHT = 7
_HALVES = {"00": " ", "10": "▀", "01": "▄", "11": "█"}


def large_letters(word: str, width: int, encoding: str = "utf-8") -> list[str]:
    """The word in rows of a terminal, a line of letters for each of its words that needs one.

    Plain where the terminal is too narrow, has no half blocks, or a letter is none of these.
    """
    if not _can_say("".join(_HALVES.values()), encoding):
        return [word]
    lines: list[str] = []
    for part in word.upper().split():
        joined = f"{lines[-1]} {part}" if lines else part
        if lines and _columns(joined) <= width:
            lines[-1] = joined
        else:
            lines.append(part)
    drawable = all(sign in _DOTS or sign == " " for line in lines for sign in line)
    if not drawable or any(_columns(line) > width for line in lines):
        return [word]
    drawn = [_drawn(line) for line in lines]
    return [row for rows in drawn[:-1] for row in (*rows, "")] + drawn[-1]


def _can_say(signs: str, encoding: str) -> bool:
    try:
        signs.encode(encoding)
    except (LookupError, UnicodeEncodeError):
        return False
    return True


def _columns(line: str) -> int:
    return len(_rows(line)[0]) if all(sign in _DOTS or sign == " " for sign in line) else 1 << 16


def _rows(line: str) -> list[str]:
    blank = " ".join(["000"] * _HEIGHT)
    letters = [_DOTS.get(sign, blank).split() for sign in line]
    return ["0".join(letter[row] for letter in letters) for row in range(_HEIGHT)]


def _drawn(line: str) -> list[str]:
    rows = [*_rows(line), "0" * len(_rows(line)[0])]
    return [
        "".join(_HALVES[upper + lower] for upper, lower in zip(*rows[at : at + 2], strict=True))
        .rstrip()
        for at in range(0, len(rows), 2)
    ]  # fmt: skip
