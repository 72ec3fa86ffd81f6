"""A meter's value as a person writes it."""

from __future__ import annotations

from burnin.core.meaning import Term
from burnin.core.quantities.spelling import OHM
from burnin.ticket.before_power.meanings import QuantityTerm


def shown_quantity(value: float | None, unit: str, uncertainty: float = 0.0) -> Term:
    """``4.7 kΩ ± 0.05 kΩ`` as a person writes it; None is over the range."""
    if value is None:
        return QuantityTerm.OVER_RANGE()
    shown, factor = unit, 1.0
    if unit == OHM and value >= 1e6:
        shown, factor = "MΩ", 1e6
    elif unit == OHM and value >= 1e3:
        shown, factor = "kΩ", 1e3
    if not uncertainty:
        return QuantityTerm.EXACT(value=value / factor, unit=shown)
    return QuantityTerm.WITH_UNCERTAINTY(
        value=value / factor, uncertainty=uncertainty / factor, unit=shown
    )
