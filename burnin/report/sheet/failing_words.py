"""Memory that read back wrong: how many words, which bits, and the first of them."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from burnin.record.reader import Record
from burnin.report.languages.catalogue import Catalogue
from burnin.report.languages.one_line import one_line

_EXAMPLES = 8
_MOST_BITS = 6


@dataclass(frozen=True)
class FailingWords:
    """Memory that read back wrong, ready to print."""

    summary: str
    header: tuple[str, ...]
    examples: tuple[tuple[str, ...], ...]


def failing_words(record: Record, words: Catalogue) -> FailingWords | None:
    """What is listed of failing words, None where nothing is."""
    listed = record.failing_words
    if not listed:
        return None
    bits = Counter(bit for word in listed for bit in _bits(word.flipped_bits))
    summary = words.label("sheet", "wrong_words").format(count=words.number(f"{len(listed):,}"))
    if bits:
        each = words.label("sheet", "bit_in")
        told = (
            each.format(bit=bit, count=words.number(f"{count:,}"))
            for bit, count in bits.most_common(_MOST_BITS)
        )
        summary += " " + words.label("sheet", "wrong_bits").format(bits=", ".join(told))
    columns = ("address", "written", "read_back", "wrong_bits_column", "pattern")
    return FailingWords(
        summary=summary,
        header=tuple(words.label("sheet", name) for name in columns),
        examples=tuple(
            tuple(
                one_line(cell, 40)
                for cell in (
                    word.address_bytes,
                    word.expected,
                    word.got,
                    word.flipped_bits,
                    words.word(word.pattern),
                )
            )
            for word in listed[:_EXAMPLES]
        ),
    )


def _bits(flipped: str) -> list[int]:
    """Numbers of the bits that are set in a mask such as ``0x00000800``."""
    try:
        mask = int(flipped, 16)
    except ValueError:
        return []
    return [bit for bit in range(mask.bit_length()) if mask >> bit & 1]
