"""What was measured after a record was made, as people type it: ``A25 open, B14 alike``."""

from __future__ import annotations

from typing import Literal

from burnin.connector.contact_map import contacts
from burnin.core.errors import BadInput
from burnin.diagnosis.evidence import Measured

_STATES: dict[str, Literal["alike", "open", "off"]] = {
    "open": "open", "alike": "alike", "off": "off",
}  # fmt: skip


def measured_of(typed: str) -> tuple[Measured, ...]:
    """Contacts with what a meter said of each; raises BadInput for what is neither."""
    found = []
    for part in typed.split(","):
        if not part.strip():
            continue
        name, _, state = part.strip().partition(" ")
        contact, word = name.upper(), state.strip().lower()
        if contact not in contacts():
            raise BadInput(f"--after: no contact {name!r}: A1 to A82 and B1 to B82")
        if word not in _STATES:
            raise BadInput(
                f"--after: {part.strip()!r}: say open, alike (like its neighbours) or off (clearly "
                f"another value), as in '{contact} open'"
            )
        found.append(Measured(contact, _STATES[word]))
    return tuple(found)
