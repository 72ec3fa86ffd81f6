"""A meter's value as a person writes it."""

from __future__ import annotations

from burnin.core.meaning import Term
from burnin.core.quantities.scale import scaled
from burnin.ticket.before_power.meanings import QuantityTerm


def shown_quantity(value: float | None, unit: str, uncertainty: float = 0.0) -> Term:
    """``4.7 kΩ ± 0.05 kΩ`` as a person writes it; None is over the range."""
    if value is None:
        return QuantityTerm.OVER_RANGE()
    factor, shown = scaled(value, unit)
    if not uncertainty:
        return QuantityTerm.EXACT(value=value / factor, unit=shown)
    return QuantityTerm.WITH_UNCERTAINTY(
        value=value / factor, uncertainty=uncertainty / factor, unit=shown
    )
