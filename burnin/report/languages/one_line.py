"""Text from outside made fit for one line of a page: it can neither break nor turn it round."""

from __future__ import annotations

import unicodedata

_BREAKS = "\t\r\n\u2028\u2029"
_OVERRIDES = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"


def one_line(text: str, most: int = 160) -> str:
    """One line of text without control characters, shortened to `most` characters.

    Directional overrides go as well: they could make a line read as something that it is not.
    """
    whole = text.encode("utf-8", "replace").decode("utf-8")
    kept = "".join(" " if c in _BREAKS else c for c in whole if c in _BREAKS or _printable(c))
    line = " ".join(kept.split())
    return line if len(line) <= most else line[: most - 1].rstrip() + "…"


def _printable(character: str) -> bool:
    noncharacter = ord(character) & 0xFFFE == 0xFFFE
    control = unicodedata.category(character) in ("Cc", "Cs")
    return not (noncharacter or control or character in _OVERRIDES)
