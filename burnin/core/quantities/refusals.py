"""Why what a meter shows was not taken as it was typed, as codes."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode, TermCode


class QuantityRefusal(ReasonCode):
    """`text` is what was typed; `mode`, `example` and `again` are what the point asks for."""

    NONE_GIVEN = "refused_quantity_none_given", "example"
    NOT_SETTLED = "refused_quantity_not_settled", "text", "again"
    NO_VALUE = "refused_quantity_no_value", "text", "example"
    OTHER_UNIT = "refused_quantity_other_unit", "text", "unit", "mode"
    VOLT_OR_MILLIVOLT = "refused_quantity_volt_or_millivolt", "text"
    NEGATIVE = "refused_quantity_negative", "text", "again"
    TOO_MUCH = "refused_quantity_too_much", "text", "most", "unit"
    NO_BOUND = "refused_quantity_no_bound", "text"
    NEGATIVE_UNCERTAINTY = "refused_quantity_negative_uncertainty", "text"
    NO_UNCERTAINTY = "refused_quantity_no_uncertainty", "text"
    TWO_UNITS = "refused_quantity_two_units", "text"
    COMMA = "refused_quantity_comma", "text"
    TOO_LARGE = "refused_quantity_too_large", "text"
    TOO_SMALL = "refused_quantity_too_small", "text"
    NO_ACCURACY = "refused_quantity_no_accuracy", "text"
    PERFECT_METER = "refused_quantity_perfect_meter", "text"
    UNKNOWN_UNIT = "refused_quantity_unknown_unit", "text", "unit"
    OHM_OR_EXPONENT = "refused_quantity_ohm_or_exponent", "text"


class AskedTerm(TermCode):
    """What a point is measured as, what may be typed there, what to do where it cannot be true."""

    RESISTANCE = "asked_resistance"
    DIODE = "asked_diode"
    TEMPERATURE = "asked_temperature"
    VOLTAGE = "asked_voltage"
    VOLTAGE_OR_MILLIVOLTS = "asked_voltage_or_millivolts"
    SUCH_AS_OHM = "asked_such_as_ohm"
    SUCH_AS_DIODE = "asked_such_as_diode"
    SUCH_AS_CELSIUS = "asked_such_as_celsius"
    SUCH_AS_DROP = "asked_such_as_drop"
    SUCH_AS_SUPPLY = "asked_such_as_supply"
    AGAIN_AT_REST = "asked_again_at_rest"
    AGAIN_UNDER_LOAD = "asked_again_under_load"
    AGAIN = "asked_again"
