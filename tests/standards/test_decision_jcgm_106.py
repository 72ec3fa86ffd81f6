"""The decision rule against worked examples of JCGM 106:2012.

Numbers and clauses from memory of the published text (it was not at hand): 7.3.3 examples 1 and 2
(one limit), 7.4 (two limits), 8.3.2 (guarded acceptance), 8.3.3 (guarded rejection).
"""

from __future__ import annotations

import pytest
from scipy import stats

from burnin.core.decision import Decided, DecisionRule, Form, chance_outside, spread
from burnin.core.reading import Limit, Verdict, decide


def test_breakdown_voltage_of_a_zener_diode() -> None:
    # 7.3.3 example 1: at most -5.40 V, measured -5.47 V, u = 0.05 V: conforms with 0.92.
    outside = chance_outside(-5.47, 2 * 0.05, None, -5.40)
    assert 1 - outside == pytest.approx(0.92, abs=0.005)
    assert decide(-5.47, 0.10, Limit(upper=-5.40)) is Verdict.UNSURE


def test_burst_strength_of_a_metal_container() -> None:
    # 7.3.3 example 2: at least 490 kPa, measured 509.7 kPa, u = 8.6 kPa: conforms with 0.99.
    outside = chance_outside(509.7, 2 * 8.6, 490.0, None)
    assert 1 - outside == pytest.approx(0.99, abs=0.005)
    assert decide(509.7, 17.2, Limit(lower=490.0)) is Verdict.PASS


def test_kinematic_viscosity_of_a_motor_oil() -> None:
    # 7.4: 12.5 to 16.3 mm²/s, measured 13.6 mm²/s, u = 1.8 mm²/s: conforms with 0.66.
    outside = chance_outside(13.6, 2 * 1.8, 12.5, 16.3)
    assert 1 - outside == pytest.approx(0.66, abs=0.005)
    assert decide(13.6, 3.6, Limit(12.5, 16.3)) is Verdict.UNSURE


def test_speed_of_a_car_over_the_limit() -> None:
    # 8.3.3: u = 2 % of the speed; beyond reasonable doubt (99.9 %) over 100 km/h from 107 km/h on.
    rule = DecisionRule(fail_sure=0.999)
    for speed, over in ((107.0, True), (106.0, False)):
        outside = chance_outside(speed, 2 * 0.02 * speed, None, 100.0)
        assert (rule.decide(outside) is Decided.FAIL) is over


def test_a_guard_band_of_five_per_cent_is_1_645_standard_uncertainties() -> None:
    # 8.3.2: with one limit the band is the 95 % quantile of the normal distribution times u.
    band = float(stats.norm.ppf(0.95)) * 0.5
    assert decide(85.0 - band - 1e-6, 1.0, Limit(upper=85.0)) is Verdict.PASS
    assert decide(85.0 - band + 1e-3, 1.0, Limit(upper=85.0)) is Verdict.UNSURE
    assert decide(85.0 + band + 1e-6, 1.0, Limit(upper=85.0)) is Verdict.FAIL


def test_one_step_of_a_sensor_is_a_rectangle() -> None:
    # JCGM 100:2008, 4.3.7: a code of 84 stands for anything from 83.5 to 84.5, all alike.
    told = spread((1.0,))
    assert told.form is Form.RECTANGULAR
    inside = chance_outside(84.0, told.uncertainty, None, 84.5, told.form)
    assert inside == pytest.approx(0.0, abs=1e-12)
    assert chance_outside(84.0, told.uncertainty, None, 84.45, told.form) == pytest.approx(0.05)
    assert decide(84.0, told.uncertainty, Limit(upper=84.46), form=told.form) is Verdict.PASS
    assert decide(84.0, told.uncertainty, Limit(upper=84.44), form=told.form) is Verdict.UNSURE


def test_uncertainties_add_as_squares_and_two_alike_are_no_rectangle() -> None:
    told = spread((1.0, 1.0), within=0.0, std=0.3)
    assert told.uncertainty == pytest.approx(2 * (1 / 12 + 1 / 12 + 0.09) ** 0.5)
    assert told.form is Form.NORMAL
