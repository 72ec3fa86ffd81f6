"""A small shop with what a tidy one has not, as rows; and rows as two engines' can be compared."""

from __future__ import annotations

import math
from collections import Counter
from datetime import datetime, timedelta
from typing import Any

from tests.history.shop import make_shop
from tests.history.shop_rows import Rows, rows_of_shop


def odd_rows() -> tuple[datetime, Rows]:
    """Until when it goes, and its rows: reopened tickets, second handovers, late promises, owed
    work, conditional passes, resumed stages, values that are no numbers, a simulated ticket.
    """
    shop = make_shop(60, 21, back_within_90=0.4)
    rows = rows_of_shop(shop)
    out = [visit for visit in shop.visits if visit.out is not None]
    for place, visit in enumerate(out[:24]):
        assert visit.out is not None
        later = visit.out + timedelta(days=3.0 + place)
        if place % 4 == 0:
            rows["ticket_events"].append(
                {"number": visit.number, "row": 7, "kind": "reopened", "at_utc": later}
            )
        if place % 3 == 0:
            rows["handovers"].append(
                {"number": visit.number, "row": 1, "verdict": "conditional",
                 "at_utc": later + timedelta(hours=1.0)}
            )  # fmt: skip
    for place, run in enumerate(rows["runs"]):
        if place % 7 == 0:
            run["verdict"] = "conditional"
        if place % 5 == 0:
            rows["owed"].append(
                {"run_key": run["run_key"], "row": 0, "stage": "3-display", "what": "owed_stage",
                 "what_data": '{"stage": "display"}', "reason": "test_no_lamp", "reason_data": "{}"}
            )  # fmt: skip
        if place % 9 == 0:
            run["card_name"] = None
    for place, reading in enumerate(rows["readings"]):
        if place % 40 == 0:
            rows["readings"].append({**reading, "row": 90 + place, "value": "nan"})
        if place % 31 == 0:
            rows["readings"].append({**reading, "row": 9, "value": "77.5", "verdict": "fail"})
        if place % 17 == 0 and reading["upper_limit"]:
            reading["value"] = str(0.97 * reading["upper_limit"])
        if place > 900:
            break
    for reading in rows["readings"]:
        reading["value_number"] = float(reading["value"])
    for place, ticket in enumerate(rows["tickets"]):
        ticket["promised_utc"] = ticket["opened_utc"] + timedelta(days=4) if place % 2 else None
        ticket["simulated"] = place % 11 == 0
        if place % 6 == 0:
            ticket["closed_utc"] = None
        ticket["no_fix"] = place % 18 == 0
    return shop.until, rows


def plain(rows: Any) -> Counter[tuple[tuple[str, object], ...]]:
    """Rows as they can be counted: moments without a library's type, numbers to nine digits."""

    def cell(value: object) -> object:
        if value is None or (isinstance(value, float) and math.isnan(value)):
            return None
        if hasattr(value, "to_pydatetime"):
            return value.to_pydatetime()
        if isinstance(value, float | int) and not isinstance(value, bool):
            return float(f"{float(value):.9g}")
        return value

    return Counter(tuple(sorted((k, cell(v)) for k, v in row.items())) for row in rows)
