"""Files as spreadsheets of ten settings and meters' loggers write them, each with the same values.

Separator, decimal sign, mark at the beginning, coding, quoting, line ends, order of columns, and
what a header calls them differ (RFC 4180; what a spreadsheet saves in a country of decimal commas:
common practice, no source).
"""

from __future__ import annotations

import codecs
from collections.abc import Iterator, Sequence

VALUES = (("supply_12v", "38.5", "Ω"), ("B14", "0.452", "V"), ("B15", "OL", "V"))


def files() -> Iterator[tuple[str, bytes]]:
    """Name and bytes of each file."""
    plain = [("point", "value", "unit"), *VALUES]
    comma = [(p, v.replace(".", ","), u) for p, v, u in plain]
    yield "comma separated, decimal point, UTF-8", _rows(plain, ",").encode()
    yield "semicolons, decimal comma, UTF-8", _rows(comma, ";").encode()
    yield "semicolons, decimal comma, mark", codecs.BOM_UTF8 + _rows(comma, ";", "\r\n").encode()
    yield "tabs, decimal comma, UTF-16", _rows(comma, "\t", "\r\n").encode("utf-16")
    yield "tabs, decimal point, UTF-16 big-endian", codecs.BOM_UTF16_BE + _rows(
        plain, "\t"
    ).encode("utf-16-be")
    ohm = [(p, v, u.replace("Ω", "Ohm")) for p, v, u in comma]
    yield "semicolons, Latin-1, Ohm", _rows(ohm, ";", "\r\n").encode("latin-1")
    quoted = [tuple(f'"{cell}"' for cell in row) for row in comma]
    yield "commas, decimal comma, all quoted", _rows(quoted, ",").encode()
    turned = [(u, p, v) for p, v, u in plain]
    yield "another order of columns", _rows(turned, ",").encode()
    german = [("Messpunkt", "Wert", "Einheit"), *comma[1:]]
    yield "a German header", _rows(german, ";", "\r\n").encode()
    more = [(*row, note) for row, note in zip(plain, ("note", "cold", "", "twice"), strict=True)]
    yield "a column more, capitals, blank line at the end", (
        _rows([tuple(c.upper() for c in more[0]), *more[1:]], ",") + "\r\n\r\n"
    ).encode()
    joined = [("point", "value"), *((p, f"{v} {u}" if v != "OL" else v) for p, v, u in VALUES)]
    yield "value and unit in one cell", _rows(joined, ",").encode()
    yield "old line ends", _rows(comma, ";", "\r").encode()


def refused() -> Iterator[tuple[str, bytes, str]]:
    """Files that cannot be read for sure, and a word that the refusal must hold."""
    two = "point,value,reading,unit\nB14,0.452,0.449,V\n"
    yield "two columns could be the value", two.encode(), "value"
    mixed = "point;value;unit\nB14;0,452;V\nB15;lots;V\n"
    yield "a wrong line in the middle", mixed.encode(), "3"
    yield "no header at all", b"B14,0.452,V\nB15,OL,V\n", "point"
    yield "nothing", b"", "empty"


def _rows(rows: Sequence[tuple[str, ...]], separator: str, end: str = "\n") -> str:
    return "".join(separator.join(row) + end for row in rows)
