"""Everything that a card tells, as plain values: the same of a bench and of its copy."""

from __future__ import annotations

from typing import Any

from burnin.card.capabilities import Card
from burnin.core.plain import plain
from burnin.core.reading import NotMeasured

_OF_A_SERIAL = ("serial", "uuid")


def read_all(card: Card) -> dict[str, Any]:
    """By what was asked; serial numbers are left out, which a copy has replaced."""
    identity = card.identity()
    spaces = {end: card.configuration_space_at(end) for end in ("card", "port")}
    return {
        "identity": {k: plain(v) for k, v in vars(identity).items() if k not in _OF_A_SERIAL
                     and k != "simulated"},
        "link": plain(card.link()),
        "position": plain(card.position()),
        "counters": plain(card.error_counters()),
        "outputs": [
            {"name": o.name, "status": plain(o.status), "modes": o.modes, "forced": o.forced}
            for o in outputs
        ]
        if not isinstance(outputs := card.outputs(), NotMeasured)
        else plain(outputs),
        "registers": {
            end: plain(space) if isinstance(space, NotMeasured) else len(space.data)
            for end, space in spaces.items()
        },
        "limits": plain(card.temperature_limits()),
        "ratings": plain(card.ratings()),
    }  # fmt: skip
