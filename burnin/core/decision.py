"""The decision rule: from value, uncertainty and limit to pass, fail or unsure, at a stated risk.

What is known of the true value after measuring is a distribution: normal with the standard
uncertainty u = U/2, or rectangular where one step of the sensor outweighs all else. The chance
that the true value lies outside the limits is the area outside (JCGM 106:2012, 7.2 to 7.4). A value
passes where that chance is at most the accepted risk, fails where it is at least what a fail asks
for, and is unsure in between: guarded acceptance and guarded rejection with guard bands of a chosen
risk (8.3.2, 8.3.3; clauses from memory). With one limit, 5 % and a normal distribution the guard
band is 1.645·u, 0.82·U.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from burnin.core.exact_intervals import normal_below
from burnin.core.meaning import Meaning, Term, TermCode

PASS_RISK, FAIL_SURE = 0.05, 0.95


class Form(StrEnum):
    """Distribution of what is measured, given what was read."""

    NORMAL = "normal"
    RECTANGULAR = "rectangular"


class Decided(StrEnum):
    """What a rule makes of a value."""

    PASS = "pass"
    FAIL = "fail"
    UNSURE = "unsure"


class RuleTerm(TermCode):
    """By which rule a reading was judged.

    NORMAL, RECTANGULAR: chance of lying outside, in per cent: at most for a pass, at least for a
    fail. COUNTED: a number that is exact, compared as it is. POISSON: `lower` and `upper` are the
    exact bounds of the mean of a count, each at `sure_pct`. RATIO: likewise of a share
    (Clopper-Pearson). WORD: among the words that are allowed. BY_STAGE: by grounds that the stage
    names itself.
    """

    NORMAL = "rule_normal", "pass_risk_pct", "fail_sure_pct"
    RECTANGULAR = "rule_rectangular", "pass_risk_pct", "fail_sure_pct"
    COUNTED = "rule_counted"
    POISSON = "rule_poisson", "sure_pct", "lower", "upper"
    RATIO = "rule_ratio", "sure_pct", "lower", "upper"
    WORD = "rule_word"
    BY_STAGE = "rule_by_stage"


@dataclass(frozen=True)
class DecisionRule:
    """The accepted risk, as shares.

    `pass_risk`: most chance that a value called pass lies outside its limits. `fail_sure`: least
    chance that a value called fail does.
    """

    pass_risk: float = PASS_RISK
    fail_sure: float = FAIL_SURE

    def decide(self, chance_outside: float) -> Decided:
        """The verdict that a chance of lying outside leads to."""
        if chance_outside <= self.pass_risk:
            return Decided.PASS
        return Decided.FAIL if chance_outside >= self.fail_sure else Decided.UNSURE

    def term(self, uncertainty: float, form: Form) -> Term:
        """What a reading says of the rule that judged it."""
        if uncertainty == 0.0:
            return RuleTerm.COUNTED()
        code = RuleTerm.NORMAL if form is Form.NORMAL else RuleTerm.RECTANGULAR
        return code(
            pass_risk_pct=round(100.0 * self.pass_risk, 6),
            fail_sure_pct=round(100.0 * self.fail_sure, 6),
        )


USUAL_RULE = DecisionRule()


def rule_of(term: Meaning | None) -> tuple[DecisionRule, Form]:
    """Rule and distribution that a reading names; the usual ones where it names none."""
    if term is None or not term.means(RuleTerm.NORMAL, RuleTerm.RECTANGULAR):
        return USUAL_RULE, Form.NORMAL
    form = Form.NORMAL if term.means(RuleTerm.NORMAL) else Form.RECTANGULAR
    told = dict(term.data)
    shares = [told.get(name) for name in ("pass_risk_pct", "fail_sure_pct")]
    if not all(isinstance(s, int | float) and 0.0 < s < 100.0 for s in shares):
        return USUAL_RULE, form
    risk, sure = (float(s) / 100.0 for s in shares if isinstance(s, int | float))
    return DecisionRule(risk, sure), form


def chance_outside(
    value: float,
    uncertainty: float,
    lower: float | None,
    upper: float | None,
    form: Form = Form.NORMAL,
) -> float:
    """Chance (0 to 1) that the true value lies outside the limits; bounds belong to the inside.

    `uncertainty` is expanded (k = 2), in the value's unit; 0, or one that is lost in the value's
    own last digit, says that the value is exact. An infinite one says nothing: 0.5 of anything may
    be outside.
    """
    if math.isinf(uncertainty):
        return 0.5
    if 0.5 * uncertainty == 0.0 or value - uncertainty == value == value + uncertainty:
        inside = (lower is None or value >= lower) and (upper is None or value <= upper)
        return 0.0 if inside else 1.0
    below = 0.0 if lower is None else _chance_below(lower, value, uncertainty, form)
    above = 0.0 if upper is None else 1.0 - _chance_below(upper, value, uncertainty, form)
    return min(1.0, below + above)


def _chance_below(bound: float, value: float, uncertainty: float, form: Form) -> float:
    standard = 0.5 * uncertainty
    if form is Form.NORMAL:
        return normal_below((bound - value) / standard)
    half = math.sqrt(3.0) * standard
    return min(1.0, max(0.0, (bound - value + half) / (2.0 * half)))


@dataclass(frozen=True)
class Spread:
    """An expanded uncertainty (k = 2) and the distribution that belongs to it."""

    uncertainty: float
    form: Form = Form.NORMAL


_OUTWEIGHS = 0.9
"""Share of the variance from which one rectangle decides the form of the whole."""


def spread(steps: tuple[float, ...] = (), within: float = 0.0, std: float = 0.0) -> Spread:
    """Uncertainties put together as root of the sum of squares (JCGM 100:2008, 5.1.2).

    `steps`: widths of rectangles, one a sensor that answers in such steps (4.3.7). `within`: half
    width that a maker states, taken as a rectangle. `std`: standard uncertainty of all the rest,
    such as a mean's.
    """
    rectangles = [step**2 / 12.0 for step in steps] + [within**2 / 3.0]
    variance = sum(rectangles) + std**2
    alone = variance > 0.0 and max(rectangles) >= _OUTWEIGHS * variance
    return Spread(2.0 * math.sqrt(variance), Form.RECTANGULAR if alone else Form.NORMAL)


@dataclass(frozen=True)
class SensorAccuracy:
    """What a profile knows of the card's sensors beyond their steps, and from where.

    `temp_within_k`: half width within which a temperature is right, 0: nobody says. `temp_add_k`:
    correction from a calibration, with its expanded uncertainty `temp_add_u_k`. `power_u_share`:
    expanded uncertainty of the board's power as a share of it; 5 % where nobody says, common
    practice without a source. `…_source`: where it is stated, empty where it is not.
    """

    temp_within_k: float = 0.0
    temp_add_k: float = 0.0
    temp_add_u_k: float = 0.0
    power_u_share: float = 0.05
    temp_source: str = ""
    power_source: str = ""

    def of_temperature(self, step_c: float) -> Spread:
        """Of one temperature read by a sensor of that step."""
        return spread((step_c,), self.temp_within_k, 0.5 * self.temp_add_u_k)


USUAL_SENSORS = SensorAccuracy()

MEASURED_UNITS = frozenset(
    ("°C", "K", "K/s", "K/W", "J/K", "W", "J", "s", "Ω", "V", "A", "GB/s", "MHz", "1/min")
)
"""Units of what is measured and not counted: a judged value in them has an uncertainty."""

POSSIBLE: Mapping[str, tuple[float, float]] = MappingProxyType({
    "°C": (-100.0, 400.0),
    "K": (-500.0, 500.0),
    "K/s": (-1e4, 1e4),
    "W": (0.0, 1e4),
    "J": (0.0, 1e12),
    "s": (0.0, 1e10),
    "Ω": (0.0, 1e12),
    "V": (-1e3, 1e3),
    "A": (0.0, 1e3),
    "GB/s": (0.0, 1e5),
    "MHz": (0.0, 1e5),
    "1/min": (0.0, 1e5),
    "lanes": (0.0, 32.0),
    "GT/s": (0.0, 128.0),
    "GiB": (0.0, 1e5),
    "": (0.0, 2.0**64),
})
"""Least and most that a value in a unit can be; what lies beyond was not measured but misread.
Bounds are far beyond any card; a unit that is not here has none."""


def is_possible(value: float, unit: str) -> bool:
    """Whether a finite value can be one of its unit."""
    low, high = POSSIBLE.get(unit, (-math.inf, math.inf))
    return low <= value <= high
