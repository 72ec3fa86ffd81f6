"""From what a person types to contacts, with the nearest suggestion where there is none."""

from __future__ import annotations

import re

from burnin.connector.contact_map import LAST_CONTACT, Contact, contacts
from burnin.connector.other_connectors import PlugContact, connectors, plug_contacts
from burnin.connector.refusals import ContactRefusal, SpanTerm
from burnin.core.errors import BadInput
from burnin.core.files.nearest import nearest
from burnin.core.meaning import Reason, Term

AnyContact = Contact | PlugContact
_EDGE = re.compile(r"([A-Z])0*(\d{1,3})")
_SPAN = re.compile(r"([A-Z])0*(\d{1,3})\s*[-–]\s*(?:([A-Z])0*)?(\d{1,3})")
_LAST = LAST_CONTACT[16]
_LANES = 16


def find_contacts(name: str) -> tuple[AnyContact, ...]:
    """The contact of that name (``B82``, ``8pin/4``), those of a span (``A21-A23``, ``A21-23``),
    or all of a connector (``8pin``).

    Raises BadInput that names the nearest contact there is.
    """
    text = name.strip()
    span = _SPAN.fullmatch(text.upper())
    if span and span[1] == (span[3] or span[1]) and int(span[2]) <= int(span[4]) <= _LAST:
        numbers = range(int(span[2]), int(span[4]) + 1)
        return tuple(one for n in numbers for one in find_contacts(f"{span[1]}{n}"))
    edge = _EDGE.fullmatch(text.upper())
    if edge:
        wanted = f"{edge[1]}{int(edge[2])}"
        if wanted in contacts():
            return (contacts()[wanted],)
        raise BadInput(_why_no_edge(text, edge[1], int(edge[2])))
    lowered = {key.lower(): contact for key, contact in plug_contacts().items()}
    if text.lower() in lowered:
        return (lowered[text.lower()],)
    if text.lower() in connectors():
        return connectors()[text.lower()].contacts
    raise BadInput(_why_none(text, list(lowered.values())))


def _why_no_edge(text: str, side: str, number: int) -> Reason:
    near = f"{side if side in 'AB' else 'B'}{min(max(number, 1), _LAST)}"
    if side not in "AB":
        return ContactRefusal.NO_SIDE(text=text, near=near)
    return ContactRefusal.NO_NUMBER(text=text, side=side, last=_LAST, near=near)


def _why_none(text: str, plugs: list[PlugContact]) -> Reason:
    turned = re.fullmatch(r"(\d{1,3})\s*([ABab])", text)
    if turned and f"{turned[2].upper()}{int(turned[1])}" in contacts():
        return ContactRefusal.TURNED(text=text, near=f"{turned[2].upper()}{int(turned[1])}")
    connector, _, label = text.lower().partition("/")
    if connector in connectors():
        near = _near(connector, label)
        return ContactRefusal.NO_LABEL(
            text=text, connector=connector, spans=_spans(connector), near=near
        )
    there = tuple(connectors())
    if not text:
        return ContactRefusal.NOTHING_NAMED(last=_LAST, there=there)
    close = nearest(text, [*contacts(), *(c.name for c in plugs), *connectors()])
    if not close:
        return ContactRefusal.NO_CONTACT(text=text, last=_LAST, there=there)
    return ContactRefusal.NO_CONTACT_NEAR(text=text, last=_LAST, there=there, near=close)


def _rows(connector: str) -> dict[str, list[int]]:
    """The numbers of a connector's contacts by the letter before them."""
    rows: dict[str, list[int]] = {}
    for contact in connectors()[connector].contacts:
        letter = contact.label.rstrip("0123456789")
        rows.setdefault(letter, []).append(int(contact.label[len(letter) :]))
    return rows


def _spans(connector: str) -> tuple[Term, ...]:
    return tuple(
        SpanTerm.SPAN(first=f"{x}{min(n)}", last=f"{x}{max(n)}")
        for x, n in _rows(connector).items()
    )


def _near(connector: str, label: str) -> str:
    rows = _rows(connector)
    digits = re.search(r"\d{1,9}", label)
    letter = label[: digits.start()].upper() if digits else label.upper()
    row = letter if letter in rows else list(rows)[-1 if letter else 0]
    number = int(digits[0]) if digits else 1
    return f"{connector}/{row}{min(rows[row], key=lambda n: abs(n - number))}"


def groups() -> tuple[str, ...]:
    """Every group there is, edge first."""
    edge = [contact.group for contact in contacts().values()]
    return tuple(dict.fromkeys(edge + [contact.group for contact in plug_contacts().values()]))


def contacts_of_group(group: str) -> tuple[AnyContact, ...]:
    """Contacts of a group, or of all groups that begin so (``presence``, ``power``, ``lane``).

    Raises BadInput with the nearest group where there is none.
    """
    wanted = group.strip().lower().replace("-", "_").replace(" ", "_")
    names = {g for g in groups() if g == wanted} or {
        g for g in groups() if wanted and g.startswith(wanted)
    }
    if not names:
        begins = {g[: len(wanted)]: g for g in reversed(groups())} | {g: g for g in groups()}
        close = nearest(wanted, begins)
        if not close:
            raise BadInput(ContactRefusal.NO_GROUP_LIKE(text=group, there=groups()))
        near = begins[close]
        raise BadInput(ContactRefusal.NO_GROUP(text=group, near=near, there=groups()))
    every: tuple[AnyContact, ...] = (*contacts().values(), *plug_contacts().values())
    return tuple(c for c in every if c.group in names)


def contacts_of_lane(lane: int) -> tuple[Contact, ...]:
    """The four edge contacts of a lane, 0 to 15. Raises BadInput for any other."""
    if not 0 <= lane < _LANES:
        near = min(max(lane, 0), _LANES - 1)
        raise BadInput(ContactRefusal.NO_LANE(lane=lane, last=_LANES - 1, near=near))
    return tuple(c for c in contacts().values() if c.lane == lane)


def find_marks(marks: dict[str, str]) -> dict[str, str]:
    """Marks by the edge contacts' own names. Raises BadInput for an unknown contact or mark."""
    known = ("damaged", "repaired", "suspected", "asked")
    found: dict[str, str] = {}
    for name, mark in marks.items():
        (contact, *_) = find_contacts(name)
        if not isinstance(contact, Contact):
            raise BadInput(ContactRefusal.NOT_OF_EDGE(name=name))
        if mark not in known:
            raise BadInput(ContactRefusal.NO_MARK(name=name, mark=mark, there=known))
        found[contact.name] = mark
    return found
