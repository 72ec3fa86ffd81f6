"""Values that were probably read at another point: told and asked back before they are kept."""

from __future__ import annotations

from collections.abc import Iterable

from burnin.core.answers.form import Form
from burnin.core.answers.meanings import AnswerTerm, WithoutTerm
from burnin.core.meaning import Prompt, Reason
from burnin.core.quantities.quantity import Quantity
from burnin.core.reading import Verdict
from burnin.ticket.before_power.judging import judge_alone
from burnin.ticket.before_power.meanings import BeforePowerReason, MeasurePrompt
from burnin.ticket.before_power.points import Wanted
from burnin.ticket.before_power.shown_quantity import shown_quantity
from burnin.ticket.log.whole_ticket import Measured

_FORM = Form(AnswerTerm.YES_NO(), enter=WithoutTerm.ASKED_AGAIN())


def doubt(want: Wanted, quantity: Quantity, wants: Iterable[Wanted]) -> Reason | None:
    """Why a value is hardly of this point; None where nothing speaks against it.

    Either it is bad here and just right at another point that is measured in the same unit, or it
    is far more than this supply ever reads.
    """
    if quantity.value is None:
        return None
    reads = shown_quantity(quantity.value, quantity.unit)
    at_home = [
        other for other in wants
        if other.point.name != want.point.name
        and other.point.unit == quantity.unit
        and _verdict(other, quantity) is Verdict.PASS
        and not _unusual(other, quantity)
    ]  # fmt: skip
    if _unusual(want, quantity):
        usual = shown_quantity(want.usual_at_most, quantity.unit)
        return BeforePowerReason.MORE_THAN_USUAL(reads=reads, title=want.title, usual=usual)
    if _verdict(want, quantity) is Verdict.FAIL and at_home:
        # The nearest of its kind: a supply is taken for another supply.
        other = next((o for o in at_home if o.point.kind == want.point.kind), at_home[0])
        return BeforePowerReason.RATHER_OF(reads=reads, title=want.title, other=other.title)
    return None


def asked_back(why: Reason) -> Prompt:
    """Whether the value is kept all the same."""
    return _FORM.on(MeasurePrompt.KEEP(why=why))


def _unusual(want: Wanted, quantity: Quantity) -> bool:
    most = want.usual_at_most
    return most is not None and quantity.value is not None and quantity.value > most


def _verdict(want: Wanted, quantity: Quantity) -> Verdict | None:
    value = Measured(
        want.point.name, quantity.value, quantity.unit, quantity.uncertainty, "", "", ""
    )
    return judge_alone(want, value).verdict
