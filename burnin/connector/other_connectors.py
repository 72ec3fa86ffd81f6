"""The card's power and display connectors: contacts, budgets, sense lines, read from data files.

Contacts are named ``connector/contact`` (``8pin/4``, ``12v2x6/S3``, ``dp/18``, ``usbc/A5``), so
that none is mistaken for a contact of the edge or for an output such as DP-1.
"""

from __future__ import annotations

import csv
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources


@dataclass(frozen=True)
class PlugContact:
    """One contact of a power or display connector; fields as in `contact_map.Contact`."""

    name: str
    connector: str
    label: str
    signal: str
    group: str
    lane: int | None
    direction: str
    polarity: str
    sources: tuple[str, ...]


@dataclass(frozen=True)
class SenseRow:
    """What one state of the sense lines allows: W at power-up and when running.

    `lines` maps each sense contact's signal to ground, open or joined (the two to each other).
    The budgets are None where the standard reserves the state.
    """

    lines: dict[str, str]
    start_w: float | None
    running_w: float | None
    meaning: str
    sources: tuple[str, ...]


@dataclass(frozen=True)
class Connector:
    """One kind of connector. Power connectors have a budget (W), a current limit (A, all 12 V
    contacts together) and a rating of one contact (A); display connectors have none (0)."""

    key: str
    title: str
    kind: str
    budget_w: float
    current_a: float
    contact_rating_a: float
    sense: tuple[SenseRow, ...]
    note: str
    sources: tuple[str, ...]
    contacts: tuple[PlugContact, ...]

    def count(self, group: str) -> int:
        """How many contacts of a group it has."""
        return sum(contact.group == group for contact in self.contacts)


def _rows(name: str) -> list[dict[str, str]]:
    with (resources.files("burnin.connector") / name).open(encoding="utf-8") as lines:
        return list(csv.DictReader(lines))


def _contact(row: dict[str, str]) -> PlugContact:
    return PlugContact(
        name=f"{row['connector']}/{row['contact']}",
        connector=row["connector"],
        label=row["contact"],
        signal=row["signal"],
        group=row["group"],
        lane=int(row["lane"]) if row.get("lane") else None,
        direction=row["direction_from_card"],
        polarity=row.get("polarity", ""),
        sources=tuple(row["sources"].split()),
    )


@cache
def connectors() -> dict[str, Connector]:
    """Every connector besides the edge, by key, power first."""
    text = (resources.files("burnin.connector") / "connectors.toml").read_text(encoding="utf-8")
    files = ("power_contacts.csv", "display_contacts.csv")
    every = [_contact(row) for name in files for row in _rows(name)]
    return {
        key: Connector(
            key=key,
            title=table["title"],
            kind=table["kind"],
            budget_w=table.get("budget_w", 0.0),
            current_a=table.get("current_a", 0.0),
            contact_rating_a=table.get("contact_rating_a", 0.0),
            sense=tuple(
                SenseRow(
                    lines=row["lines"],
                    start_w=row.get("start_w"),
                    running_w=row.get("running_w"),
                    meaning=row["meaning"],
                    sources=tuple(row["sources"]),
                )
                for row in table.get("sense", ())
            ),
            note=table["note"],
            sources=tuple(table["sources"]),
            contacts=tuple(contact for contact in every if contact.connector == key),
        )
        for key, table in tomllib.loads(text).items()
    }


@cache
def plug_contacts() -> dict[str, PlugContact]:
    """Every contact of those connectors by name."""
    return {c.name: c for connector in connectors().values() for c in connector.contacts}


@cache
def source_texts() -> dict[str, str]:
    """What the keys of a `sources` field stand for."""
    text = (resources.files("burnin.connector") / "sources.toml").read_text(encoding="utf-8")
    return {key: str(told) for key, told in tomllib.loads(text).items()}
