"""Both sides of the edge connector as SVG, for the sheet: readable in black and white.

The card is folded open along its edge: side B (components) above, side A below, contact 1 next to
the bracket. What a finger carries shows as a hatching, what was marked as a sign of its own shape
with the contact's name. Geometry: KiCad's footprint BUS_PCIexpress_x16 (pitch 1 mm, fingers 0.7 by
4.3 mm, presence fingers 3.2 mm and drawn back from the edge, key notch between 11 and 12).
"""

from __future__ import annotations

from collections.abc import Mapping
from html import escape

from burnin.connector.contact_map import (
    KEY_AFTER,
    LAST_CONTACT,
    Contact,
    contacts,
    is_short,
    place_mm,
)
from burnin.connector.finding import find_marks
from burnin.report.paper.edge_patterns import HATCHINGS, INK, OTHER, PAPER, PATTERNS, SOFT

_PITCH = 10.0
"""Drawing units a millimetre of the edge; all below is in these units."""
_WIDE, _LONG, _SHORT = 7.0, 43.0, 32.0
_LEFT, _RIGHT = 46.0, 14.0
_TO_EDGE = 12.0
_GAP = 70.0
"""Between the two edges: numbers and the ends of shorter edges."""
_TEXT, _SMALL = 17.0, 14.0
_NAME = 11.5
"""Size of a contact's name: it stands upright over its finger and is lower than the pitch."""
_SIGN = 10.0
_GLYPH = 0.64
"""Width of a character over its size, of a wide sans-serif face."""


def _x(number: int) -> float:
    """Middle of a finger."""
    return _LEFT + 6.0 + _PITCH * place_mm(number)


_FULL = _x(LAST_CONTACT[16]) + 6.0 + _RIGHT


def edge_svg(
    marks: dict[str, str], width_mm: float, words: Mapping[str, str] | None = None
) -> str:
    """The edge as an SVG element `width_mm` wide (at least 80), fingers and signs to scale.

    `words`: what hatchings and marks are called in a language ([drawing] of its catalogue).

    `marks` maps edge contacts to damaged, repaired, suspected or asked; several are told apart by
    shape and named. Raises BadInput for an unknown contact or mark.
    """
    known = find_marks(marks)
    named = words or {}
    room_b, room_a = _room("B", known), _room("A", known)
    edge_b = room_b + _LONG + _TO_EDGE
    edge_a = edge_b + _GAP
    bottom = edge_a + _TO_EDGE + _LONG + room_a
    legend, legend_high = _legend(set(known.values()), bottom + 12.0, named)
    high = bottom + 12.0 + legend_high
    parts = [
        _board("B", room_b - 8.0, edge_b),
        _board("A", bottom - room_a + 8.0, edge_a),
        *(_finger(c, edge_b if c.side == "B" else edge_a, c.name in known) for c in _every()),
        _lane_numbers(edge_b, edge_a),
        _ruler(edge_b, edge_a, named),
        *(_mark(contacts()[name], mark, room_b, bottom - room_a) for name, mark in known.items()),
        _side_names(edge_b, edge_a),
        legend,
    ]
    wide = max(width_mm, 80.0)
    title = _title(known, named)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{wide:g}mm"'
        f' height="{wide * high / _FULL:.1f}mm" viewBox="0 0 {_FULL:g} {high:g}"'
        f' font-family="DejaVu Sans, Liberation Sans, Arial, sans-serif" font-size="{_SMALL:g}"'
        f' fill="{INK}">\n<title>{escape(title)}</title>\n{PATTERNS}\n'
        + "\n".join(parts)
        + "\n</svg>"
    )


def _every() -> list[Contact]:
    return list(contacts().values())


def _title(known: dict[str, str], words: Mapping[str, str]) -> str:
    told = [
        f"{words.get(mark, mark)}: {', '.join(n for n in contacts() if known.get(n) == mark)}"
        for mark in dict.fromkeys(known.values())
    ]
    both = words.get("both_sides", "Edge connector, both sides.")
    none = words.get("no_contact", "No contact marked.")
    return f"{both} {'; '.join(told) if told else none}"


def _board(side: str, inner: float, edge: float) -> str:
    """The board's outline: two tongues with the key notch between them."""
    turn = 1.0 if side == "B" else -1.0
    left, right = _x(1) - 6.5, _x(LAST_CONTACT[16]) + 6.5
    notch_l, notch_r = _x(KEY_AFTER) + 5.5, _x(KEY_AFTER + 1) - 5.5
    deep = edge - turn * 74.0 if abs(edge - inner) > 74.0 else inner
    bevel = turn * 5.0
    path = (
        f"M{left:g} {inner:g}V{edge - bevel:g}l5 {bevel:g}H{notch_l - 5:g}l5 {-bevel:g}V{deep:g}"
        f"H{notch_r:g}V{edge - bevel:g}l5 {bevel:g}H{right - 5:g}l5 {-bevel:g}V{inner:g}"
    )
    return f'<path d="{path}" fill="none" stroke="{SOFT}" stroke-width="1.4"/>'


def _finger(contact: Contact, edge: float, marked: bool) -> str:
    turn = -1.0 if contact.side == "B" else 1.0
    long = _SHORT if is_short(contact.name) else _LONG
    root = edge + turn * (_TO_EDGE + _LONG)
    top = root if turn < 0 else root - long
    hatching, _ = HATCHINGS.get(contact.group, OTHER)
    fill = "none" if hatching == "none" else f"url(#edge-{hatching})"
    dash = ' stroke-dasharray="3 2.4"' if hatching == "none" else ""
    line = 2.2 if marked else 0.9
    return (
        f'<rect transform="translate({_x(contact.number) - _WIDE / 2:g} {top:g})"'
        f' width="{_WIDE:g}" height="{long:g}" fill="{fill}" stroke="{INK}"'
        f' stroke-width="{line:g}"{dash}/>'
    )


def _text(x: float, y: float, text: str, extra: str = "") -> str:
    return f'<text x="{x:g}" y="{y:g}" text-anchor="middle"{extra}>{escape(text)}</text>'


def _lane_numbers(edge_b: float, edge_a: float) -> str:
    """Each pair's lane between its fingers and the edge."""
    parts = []
    for contact in _every():
        if contact.lane is not None and contact.polarity == "p":
            y = edge_b - 1.5 if contact.side == "B" else edge_a + 10.5
            middle = _x(contact.number) + _PITCH / 2
            parts.append(_text(middle, y, str(contact.lane), ' font-size="12"'))
    return "\n".join(parts)


def _ruler(edge_b: float, edge_a: float, words: Mapping[str, str]) -> str:
    """Contact numbers, and where the edges of narrower cards end."""
    parts = []
    for number in (1, *range(10, LAST_CONTACT[16] + 1, 10)):
        x = _x(number)
        parts.append(f'<path d="M{x:g} {edge_b + 3:g}v6M{x:g} {edge_a - 3:g}v-6" stroke="{INK}"/>')
        parts.append(_text(x, edge_b + 26.0, str(number)))
    y = edge_a - 20.0
    for width, last in LAST_CONTACT.items():
        x = _x(last) + _PITCH / 2
        line = f"M{x:g} {edge_b + 2:g}v10M{x:g} {y - 10:g}V{edge_a - 2:g}"
        parts.append(f'<path d="{line}" stroke="{INK}" stroke-dasharray="5 3"/>')
        parts.append(
            f'<text x="{x - 4:g}" y="{y:g}" text-anchor="end" font-size="12">x{width}</text>'
        )
    key = (_x(KEY_AFTER) + _x(KEY_AFTER + 1)) / 2
    parts.append(_text(key, y, words.get("key", "key"), ' font-size="12"'))
    return "\n".join(parts)


def _side_names(edge_b: float, edge_a: float) -> str:
    x = _LEFT / 2 - 3.0
    return "\n".join(
        _text(x, y, name, f' font-size="{_TEXT * 1.5:g}" font-weight="bold"')
        for name, y in (("B", edge_b - 20.0), ("A", edge_a + 38.0))
    )


def _room(side: str, known: dict[str, str]) -> float:
    """Height outside a side's fingers for signs and upright names."""
    longest = max((len(name) for name in known if name[0] == side), default=0)
    return 16.0 if longest == 0 else 12.0 + _SIGN + _GLYPH * _NAME * longest


def _mark(contact: Contact, mark: str, top: float, bottom: float) -> str:
    """Sign next to the finger's root, the contact's name upright beyond it."""
    turn, root = (-1.0, top) if contact.side == "B" else (1.0, bottom)
    x = _x(contact.number)
    begin = root + turn * (6.0 + _SIGN)
    return (
        _sign(mark, x, root + turn * (4.0 + _SIGN / 2))
        + f'<text transform="translate({x + _NAME * 0.36:g} {begin:g}) rotate(-90)"'
        f' font-size="{_NAME:g}" font-weight="bold"'
        f' text-anchor="{"start" if turn < 0 else "end"}">{contact.name}</text>'
    )


def _sign(mark: str, x: float, y: float) -> str:
    """Damaged: a cross. Repaired: a full diamond. Suspected: an empty ring. Asked: a triangle."""
    shape = {
        "damaged": '<path d="M-3.2-4 3.2 4M-3.2 4 3.2-4" stroke-width="2.4"/>',
        "repaired": f'<path d="M0-4.8 4.2 0 0 4.8-4.2 0Z" fill="{INK}" stroke="none"/>',
        "suspected": f'<circle r="3.4" fill="{PAPER}" stroke-width="1.9"/>',
        "asked": f'<path d="M0-4 3.9 3.6-3.9 3.6Z" fill="{PAPER}" stroke-width="1.4"/>',
    }[mark]
    return f'<g transform="translate({x:g} {y:g})" fill="none" stroke="{INK}">{shape}</g>'


def _legend(marks: set[str], top: float, words: Mapping[str, str]) -> tuple[str, float]:
    """Hatchings and the signs that occur, in rows; the markup and its height."""
    entries: list[tuple[str, str]] = []
    for hatching, label in dict.fromkeys([*HATCHINGS.values(), OTHER]):
        fill = "none" if hatching == "none" else f"url(#edge-{hatching})"
        dash = ' stroke-dasharray="3 2.4"' if hatching == "none" else ""
        box = f'<rect x="-6" y="-10" width="12" height="20" fill="{fill}" stroke="{INK}"{dash}/>'
        entries.append((box, label))
    for mark in ("damaged", "repaired", "suspected", "asked"):
        if mark in marks:
            entries.append((_sign(mark, 0.0, 0.0), mark))
    x, y, parts = _LEFT, top + 14.0, []
    for symbol, name in entries:
        label = words.get(name, name)
        wide = 20.0 + _GLYPH * _TEXT * len(label)
        if x + wide > _FULL - _RIGHT:
            x, y = _LEFT, y + 30.0
        parts.append(f'<g transform="translate({x + 6:g} {y:g})">{symbol}</g>')
        place = f'x="{x + 20:g}" y="{y + 6:g}" font-size="{_TEXT:g}"'
        parts.append(f"<text {place}>{escape(label)}</text>")
        x += wide + 16.0
    return "\n".join(parts), y + 20.0 - top
