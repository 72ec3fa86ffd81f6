"""An error counter's name in a language: at which end it stands, what it counts, how grave that is.

Records name a counter as its source does, behind its end: ``card bad TLP (correctable)``.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

_NAME = re.compile(r"(?P<end>card|port) (?P<name>.+?)(?: \((?P<grade>[a-z-]+)\))?")


def counter_name(label: str, words: Mapping[str, object]) -> str:
    """The name of a counter; as it is where the language has no word for it.

    >>> counter_name("card bad TLP (fatal)", {"counter_at_card": "Karte:"})
    'Karte: bad TLP (fatal)'
    """
    parts = _NAME.fullmatch(label)
    if parts is None:
        return label
    end, name, grade = parts["end"], parts["name"], parts["grade"]
    told = f"{words.get(f'counter_at_{end}', end)} {words.get(f'counter_{name}', name)}"
    return f"{told} ({words.get(f'counter_{grade}', grade)})" if grade else told
