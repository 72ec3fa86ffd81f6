"""Why values of the unpowered card were not taken, as codes."""

from __future__ import annotations

from burnin.core.meaning import ReasonCode, TermCode


class BeforePowerRefusal(ReasonCode):
    """What was typed or stood in a file; `there` is what could have been, `why` a reason."""

    POINT_OR_FILE = "refused_before_power_point_or_file"
    NO_POINT = "refused_before_power_no_point", "name", "there"
    NO_NEIGHBOURS = "refused_before_power_no_neighbours", "first", "second", "there"
    OVERRULE_NEEDS_REASON = "refused_before_power_overrule_needs_reason", "least_count"
    NOTHING_AGAINST = "refused_before_power_nothing_against", "number"
    EMPTY = "refused_before_power_empty", "file", "columns"
    NO_ROW = "refused_before_power_no_row", "file", "columns"
    NO_HEADER = "refused_before_power_no_header", "file", "columns", "header"
    MORE_CELLS = "refused_before_power_more_cells"
    FEWER_CELLS = "refused_before_power_fewer_cells"
    NO_CSV = "refused_before_power_no_csv", "file", "line", "error"
    TWO_COLUMNS = "refused_before_power_two_columns", "file", "column", "first", "second"
    TOO_MANY_ROWS = "refused_before_power_too_many_rows", "file", "most_count"
    NO_TEXT = "refused_before_power_no_text", "file", "coding", "byte"
    NONE_GIVEN = "refused_before_power_none_given"
    OVER_DIODE_MODE = "refused_before_power_over_diode_mode", "value"
    TWICE = "refused_before_power_twice", "point"
    AT_POINT = "refused_before_power_at_point", "point", "why"
    IN_LINE = "refused_before_power_in_line", "file", "line", "why"
    IN_VALUE = "refused_before_power_in_value", "file", "line", "why"


class SupplyTerm(TermCode):
    """What stands in the place of supplies."""

    NONE = "supply_none"
