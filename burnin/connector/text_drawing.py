"""Both sides of the edge drawn with plain characters, for a terminal of any usual width.

Side B (components, what the card receives) lies above, side A below, as if the card were folded
open along its edge; contact 1 is next to the bracket. A lane's pair shows the lane's number in two
digits, one for each leg.
"""

from __future__ import annotations

import textwrap

from burnin.connector.contact_map import (
    KEY_AFTER,
    LAST_CONTACT,
    Contact,
    contacts,
    is_short,
)
from burnin.connector.finding import find_marks

MARK_SIGNS = {"damaged": "X", "repaired": "+", "suspected": "?", "asked": "*"}
"""Sign of each mark on the row next to the fingers."""

_SIGNS = {
    "ground": ":", "power_12v": "#", "power_3v3": "=", "power_3v3aux": "~",
    "presence_detect": "p", "reset": "r", "clock": "c", "jtag": "j", "smbus": "s", "wake": "w",
    "clkreq": "q", "pwrbrk": "b", "reserved": "-",
}  # fmt: skip
_LEGEND = (
    "00 to 15 lane, a digit a leg", ": ground", "# 12 V", "= 3.3 V", "~ 3.3 V aux",
    "p presence", "' presence, short finger", "r reset", "c clock", "j JTAG", "s SMBus", "w WAKE#",
    "q CLKREQ#", "b PWRBRK#", "- reserved",
)  # fmt: skip
_NO_BREAK = "\xa0"
_LABEL = 8
_KEY = 3


def _sign(contact: Contact) -> str:
    if contact.lane is not None:
        return f"{contact.lane:02d}"[0 if contact.polarity == "p" else 1]
    return "'" if is_short(contact.name) else _SIGNS[contact.group]


def _chunks(width: int) -> list[range]:
    """The edge in as few stretches as fit, cut only where an x1, x4 or x8 edge ends."""
    room = max(width, 1) - _LABEL - _KEY
    chunks: list[range] = []
    first, before = 1, 0
    for last in LAST_CONTACT.values():
        if before and last - first + 1 > room:
            chunks.append(range(first, before + 1))
            first = before + 1
        before = last
    return [*chunks, range(first, before + 1)]


def _columns(chunk: range) -> dict[int, int]:
    return {
        number: number - chunk[0] + (_KEY if chunk[0] <= KEY_AFTER < number else 0)
        for number in chunk
    }


def _row(label: str, at: dict[int, str]) -> str:
    """A line with texts at columns; the texts end there."""
    line = ""
    for column in sorted(at):
        text = at[column]
        line = line.ljust(column - len(text) + 1) + text
    return f"{label:<{_LABEL}}{line}".rstrip()


def _stretch(chunk: range, marks: dict[str, str]) -> list[str]:
    columns = _columns(chunk)

    def fingers(side: str) -> str:
        return _row(
            f"side {side}", {columns[n]: _sign(contacts()[f"{side}{n}"]) for n in chunk}
        )

    def signs(side: str) -> str:
        at = {
            columns[n]: MARK_SIGNS[marks[f"{side}{n}"]] for n in chunk if f"{side}{n}" in marks
        }
        return _row("", at)

    numbers = [n for n in chunk if n % 10 == 0 or n == 1]
    ends = {columns[last]: f"x{w}|" for w, last in LAST_CONTACT.items() if last in columns}
    if KEY_AFTER in columns:
        ends[columns[KEY_AFTER] + _KEY] = "key"
    lines = [
        signs("B"),
        fingers("B"),
        _row("", {columns[n]: str(n) for n in numbers}),
        _row("", ends),
        fingers("A"),
        signs("A"),
    ]
    return [line for line in lines if line]


def draw_text(marks: dict[str, str], width: int) -> str:
    """Both sides of the edge in at most `width` columns (no narrower than 44), with a legend.

    `marks` maps edge contacts to damaged, repaired, suspected or asked. Raises BadInput for an
    unknown contact or mark.
    """
    width = max(width, 44)
    known = find_marks(marks)
    blocks = ["\n".join(_stretch(chunk, known)) for chunk in _chunks(width)]
    whole = (entry.replace(" ", _NO_BREAK) for entry in _LEGEND)
    legend = textwrap.fill("; ".join(whole), width).replace(_NO_BREAK, " ")
    lines = []
    for mark, sign in MARK_SIGNS.items():
        names = [name for name in contacts() if known.get(name) == mark]
        if names:
            told = f"{sign} {mark}: {', '.join(names)}"
            lines.append(textwrap.fill(told, width, subsequent_indent="  "))
    return "\n\n".join([*blocks, legend, *(["\n".join(lines)] if lines else [])])
