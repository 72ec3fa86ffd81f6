"""A point of a profile: what is asked, what may be typed, and the reading that comes of it."""

from __future__ import annotations

from dataclasses import dataclass

from burnin.core.answers.reader import YES_NO, Said, read
from burnin.core.errors import BadInput
from burnin.core.meaning import Prompt, Reason, Source, Term
from burnin.core.quantities.quantity import Asked, Meter, Quantity, parse_quantity
from burnin.core.quantities.refusals import AskedTerm
from burnin.core.quantities.spelling import CELSIUS, VOLT
from burnin.core.reading import (
    Limit,
    NotMeasured,
    Reading,
    Verdict,
    judge,
    judge_text,
    not_measured,
)
from burnin.profile.under_load import (
    Picture,
    SupplyVoltage,
    TouchedTemperature,
    UnderLoadPoint,
    VoltageAcross,
)
from burnin.stages.under_load.meanings import (
    UnderLoadPrompt,
    UnderLoadReason,
    UnderLoadSource,
    UnderLoadTerm,
)
from burnin.stages.under_load.sense import Around
from burnin.stages.under_load.settings import UnderLoad

_NOMINAL_V = 12.0
_LEAST_SUPPLY_V = 6.0
"""No card works on less than half of its 12 V: what was typed is a drop, or of another point
(common practice, no source)."""
_AGAIN = AskedTerm.AGAIN_UNDER_LOAD()
_DROP = Asked(
    VOLT, 5.0, 1.0, AskedTerm.VOLTAGE_OR_MILLIVOLTS(), AskedTerm.SUCH_AS_DROP(), _AGAIN
)
_SUPPLY = Asked(VOLT, 60.0, 60.0, AskedTerm.VOLTAGE(), AskedTerm.SUCH_AS_SUPPLY(), _AGAIN)
_WARMTH = Asked(
    CELSIUS,
    400.0,
    400.0,
    AskedTerm.TEMPERATURE(),
    AskedTerm.SUCH_AS_CELSIUS(),
    AskedTerm.AGAIN(),
)
_LEAST_STOOD_S = 1.5
"""Nobody reaches for a joint and reads a meter within less (estimate)."""
_CLEAN = {"clean": Said.YES, "sauber": Said.YES}
"""What else is a yes where somebody looks at the picture."""

Answer = Quantity | str
"""What was typed: a value, or yes or no."""


@dataclass(frozen=True)
class Held:
    """The power while somebody measured: its mean, or why nobody can say, and what was asked.

    `within_share`: how far it may lie below. `stood_s`: how long the prompt stood until then.
    """

    mean_w: float | NotMeasured
    asked_w: float
    within_share: float
    stood_s: float

    def why_no_pass(self) -> Reason | None:
        """Why a good value says nothing of the power that was asked for."""
        if self.stood_s < _LEAST_STOOD_S:
            return UnderLoadReason.TOO_SOON(stood_s=self.stood_s, least_s=_LEAST_STOOD_S)
        if isinstance(self.mean_w, NotMeasured):
            return self.mean_w.reason
        if self.mean_w < (1.0 - self.within_share) * self.asked_w:
            return UnderLoadReason.POWER_NOT_HELD(held_w=self.mean_w, asked_w=self.asked_w)
        return None


def prompt_of(point: UnderLoadPoint) -> Prompt:
    """What is put to the technician."""
    match point:
        case VoltageAcross():
            return UnderLoadPrompt.ACROSS(title=point.title, place=point.at, plug=point.plug)
        case SupplyVoltage():
            return UnderLoadPrompt.SUPPLY(title=point.title, plug=point.plug)
        case TouchedTemperature():
            return UnderLoadPrompt.TEMPERATURE(
                title=point.title, place=point.at, plug=point.plug, by=_by(point)
            )
        case Picture():
            return UnderLoadPrompt.PICTURE(title=point.title)


def read_answer(point: UnderLoadPoint, settings: UnderLoad, text: str) -> Answer:
    """What was typed, by the grammar of measured values; raises BadInput that tells the fault."""
    if isinstance(point, Picture):
        return read(text, YES_NO, _CLEAN).value
    if isinstance(point, TouchedTemperature):
        camera = point.by == "camera"
        fixed_c = settings.camera_fixed_c if camera else settings.probe_fixed_c
        asked, meter = _WARMTH, Meter(pct=0.0, fixed_c=fixed_c)
    else:
        asked = _DROP if isinstance(point, VoltageAcross) else _SUPPLY
        meter = Meter(pct=settings.meter_pct, fixed_v=settings.meter_fixed_v)
    quantity = parse_quantity(text, asked, meter)
    if quantity.value is None:
        raise BadInput(UnderLoadReason.OVER_THE_RANGE(text=text, example=asked.example))
    if isinstance(point, SupplyVoltage) and quantity.value < _LEAST_SUPPLY_V:
        why = UnderLoadReason.NO_SUPPLY(text=text, least_v=_LEAST_SUPPLY_V, example=asked.example)
        raise BadInput(why)
    return quantity


def reading_of(point: UnderLoadPoint, answer: Answer, held: Held, around: Around) -> Reading:
    """The answer against the profile's limit; good values need the power that was asked for.

    A good value that cannot be true is none either.
    """
    unseen = around.nothing_to_see(point)
    if unseen is not None:
        return missing(point, unseen)
    reading = _judged(point, answer, held)
    if reading.verdict is Verdict.PASS:
        why = held.why_no_pass() or around.why_no_pass(point, answer)
        return reading if why is None else missing(point, why)
    return reading


def missing(point: UnderLoadPoint, why: Reason) -> Reading:
    """The same reading where there is no answer."""
    return not_measured(
        name_of(point), _unit(point), why, limit=_limit(point), required=point.required
    )


def _judged(point: UnderLoadPoint, answer: Answer, held: Held) -> Reading:
    source = _source(point, held)
    if isinstance(answer, str) or answer.value is None:
        why = UnderLoadReason.NOT_CLEAN()
        return judge_text(
            name_of(point), str(answer), ("yes",), source=source, required=point.required,
            why_fail=why,
        )  # fmt: skip
    return judge(
        name_of(point), answer.value, _unit(point), _limit(point), uncertainty=answer.uncertainty,
        source=source, required=point.required, why_fail=_why(point, answer.value, held),
    )  # fmt: skip


def _why(point: UnderLoadPoint, value: float, held: Held) -> Reason | None:
    match point:
        case VoltageAcross():
            most_v = point.at_most_v
            if isinstance(held.mean_w, NotMeasured) or held.mean_w <= 0.0:
                return UnderLoadReason.DROPS_UNTOLD(drop_v=value, most_v=most_v)
            ohm = value * _NOMINAL_V / held.mean_w
            return UnderLoadReason.DROPS(
                drop_v=value, most_v=most_v, power_w=held.mean_w, ohm=ohm
            )
        case SupplyVoltage():
            return UnderLoadReason.NOT_TWELVE(
                supply_v=value, least_v=point.at_least_v, most_v=point.at_most_v
            )
        case TouchedTemperature():
            return UnderLoadReason.TOO_WARM(temp_c=value, most_c=point.at_most_c)
    return None


def name_of(point: UnderLoadPoint) -> str:
    """What the point's reading is called."""
    match point:
        case VoltageAcross():
            return f"drop_at_{point.at}_v {point.name}"
        case SupplyVoltage():
            return f"supply_at_plug_v {point.name}"
        case TouchedTemperature():
            return f"temp_at_{point.at}_c {point.name}"
        case Picture():
            return f"picture_clean {point.name}"


def _unit(point: UnderLoadPoint) -> str:
    if isinstance(point, Picture):
        return ""
    return CELSIUS if isinstance(point, TouchedTemperature) else VOLT


def _limit(point: UnderLoadPoint) -> Limit | None:
    match point:
        case VoltageAcross():
            return Limit(upper=point.at_most_v)
        case SupplyVoltage():
            return Limit(point.at_least_v, point.at_most_v)
        case TouchedTemperature():
            return Limit(upper=point.at_most_c)
    return None


def _by(point: UnderLoadPoint) -> Term:
    if isinstance(point, TouchedTemperature):
        return UnderLoadTerm.CAMERA() if point.by == "camera" else UnderLoadTerm.PROBE()
    return UnderLoadTerm.EYE() if isinstance(point, Picture) else UnderLoadTerm.METER()


def _source(point: UnderLoadPoint, held: Held) -> Source:
    if isinstance(held.mean_w, NotMeasured):
        return UnderLoadSource.TYPED_POWER_UNTOLD(by=_by(point))
    return UnderLoadSource.TYPED(by=_by(point), power_w=held.mean_w)
