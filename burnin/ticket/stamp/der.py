"""Values in DER (ITU-T X.690), as far as a time stamp is made of them."""

from __future__ import annotations

from dataclasses import dataclass

SEQUENCE, SET, INTEGER, OCTETS, NAME_OF_KIND, TIME = 0x30, 0x31, 0x02, 0x04, 0x06, 0x18
"""Tags of X.680: SEQUENCE, SET, INTEGER, OCTET STRING, OBJECT IDENTIFIER, GeneralizedTime."""
TAGGED_0, TAGGED_1 = 0xA0, 0xA1


class NotDer(ValueError):
    """The bytes are no value in DER, or another one than the place asks for."""


@dataclass(frozen=True)
class Value:
    """A value: tag, content, and all its bytes."""

    tag: int
    content: bytes
    whole: bytes

    def of(self, tag: int) -> Value:
        """The same, where it has this tag; raises NotDer."""
        if self.tag != tag:
            raise NotDer(f"tag {self.tag:#x} where {tag:#x} belongs")
        return self

    def parts(self) -> tuple[Value, ...]:
        """The values inside; raises NotDer."""
        found, at = [], 0
        while at < len(self.content):
            value, at = _read(self.content, at)
            found.append(value)
        return tuple(found)

    def only(self) -> Value:
        """The one value inside; raises NotDer."""
        inside = self.parts()
        if len(inside) != 1:
            raise NotDer(f"{len(inside)} values where one belongs")
        return inside[0]

    def number(self) -> int:
        """An integer's number; raises NotDer."""
        return int.from_bytes(self.of(INTEGER).content, "big", signed=True)

    def kind(self) -> str:
        """An object identifier in dotted digits; raises NotDer."""
        content = self.of(NAME_OF_KIND).content
        numbers, number = [], 0
        for byte in content:
            number = number << 7 | byte & 0x7F
            if not byte & 0x80:
                numbers.append(number)
                number = 0
        if not numbers or content[-1] & 0x80 or len(content) > 64:
            raise NotDer("an object identifier that is none")
        first = min(numbers[0] // 40, 2)
        return ".".join(str(n) for n in (first, numbers[0] - 40 * first, *numbers[1:]))


def value_of(raw: bytes) -> Value:
    """The one value that the bytes are; raises NotDer."""
    value, end = _read(raw, 0)
    if end != len(raw):
        raise NotDer("more bytes than the value has")
    return value


def _read(raw: bytes, at: int) -> tuple[Value, int]:
    if at + 2 > len(raw):
        raise NotDer("ends early")
    tag, length, start = raw[at], raw[at + 1], at + 2
    if tag & 0x1F == 0x1F:
        raise NotDer("a tag of several bytes")
    if length & 0x80:
        count = length & 0x7F
        if not 1 <= count <= 4 or start + count > len(raw):
            raise NotDer("a length that is none")
        length = int.from_bytes(raw[start : start + count], "big")
        start += count
    end = start + length
    if end > len(raw):
        raise NotDer("ends early")
    return Value(tag, raw[start:end], raw[at:end]), end
