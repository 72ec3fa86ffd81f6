"""The prefix by which a meter and a person write a value (SI brochure, 9th edition, table 7)."""

from __future__ import annotations

from burnin.core.quantities.spelling import OHM

_STEPS = ((1e6, "M"), (1e3, "k"))


def scaled(value: float, unit: str) -> tuple[float, str]:
    """By what a value is divided, and the unit that it has then: ohms in kΩ or MΩ where many.

    >>> scaled(4700.0, "Ω"), scaled(4700.0, "V")
    ((1000.0, 'kΩ'), (1.0, 'V'))
    """
    if unit == OHM:
        for factor, prefix in _STEPS:
            if abs(value) >= factor:
                return factor, f"{prefix}{unit}"
    return 1.0, unit
