"""What each prompt under load tells of its answer: its unit, and the profile's limit for it."""

from __future__ import annotations

from burnin.core.answers.form import YES_NO, Form
from burnin.core.answers.meanings import AnswerTerm, GoodTerm
from burnin.core.meaning import Term
from burnin.core.quantities.spelling import CELSIUS, VOLT
from burnin.profile.under_load import (
    SupplyVoltage,
    TouchedTemperature,
    UnderLoadPoint,
    VoltageAcross,
)

_MILLIVOLT_BELOW_V = 1.0


def form_at(point: UnderLoadPoint) -> Form:
    """The form of the answer at a point."""
    match point:
        case VoltageAcross():
            good = GoodTerm.AT_MOST(most=_volts(point.at_most_v))
            return Form(AnswerTerm.VALUE(unit="V / mV"), good)
        case SupplyVoltage():
            least, most = _volts(point.at_least_v), _volts(point.at_most_v)
            return Form(AnswerTerm.VALUE(unit=VOLT), GoodTerm.BETWEEN(least=least, most=most))
        case TouchedTemperature():
            most = GoodTerm.QUANTITY(value=point.at_most_c, unit=CELSIUS)
            return Form(AnswerTerm.VALUE(unit=CELSIUS), GoodTerm.AT_MOST(most=most))
    return YES_NO


def _volts(value: float) -> Term:
    if value < _MILLIVOLT_BELOW_V:
        return GoodTerm.QUANTITY(value=1e3 * value, unit="mV")
    return GoodTerm.QUANTITY(value=value, unit=VOLT)
