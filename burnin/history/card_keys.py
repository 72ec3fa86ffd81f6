"""One card, one key, whichever of its numbers a run could read."""

from __future__ import annotations

from burnin.history.store import Store


def one_card_one_key(store: Store) -> None:
    """A card that told its UUID alone in one run, and its serial number in another, is one card."""
    told = "card_uuid <> '' AND card_serial <> ''"
    both = f"SELECT DISTINCT card_uuid, card_serial FROM runs WHERE {told}"
    for uuid, serial in store.ask(both):
        for table in ("runs", "tickets"):
            store.ask(f"UPDATE {table} SET card_key = ? WHERE card_key = ?", (serial, uuid))
