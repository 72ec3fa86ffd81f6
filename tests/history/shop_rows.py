"""A made-up shop straight as rows of a store, for tests that make hundreds of stores."""

from __future__ import annotations

from collections import defaultdict
from datetime import timedelta
from pathlib import Path
from typing import Any

from burnin.history.rows import arrow
from burnin.history.store import open_to_write
from burnin.history.tables import IN_DATABASE
from tests.history.shop import Shop, Visit

Rows = dict[str, list[dict[str, Any]]]


def rows_of_shop(shop: Shop) -> Rows:
    """The columns that a shop of ours fills; all others stay empty."""
    rows: Rows = defaultdict(list)
    for visit in shop.visits:
        _ticket(rows, visit)
        for place in range(len(visit.runs)):
            _run(rows, visit, place)
    return rows


def store_of_shop(folder: Path, shop: Shop) -> Path:
    """A store that holds a shop."""
    rows = rows_of_shop(shop)
    with open_to_write(folder) as store, store.whole():
        for table in IN_DATABASE:
            store.add(table, arrow(table, rows[table.name]))
        store.ask("UPDATE store SET synced_utc = ?", (shop.until,))
    return folder


def _ticket(rows: Rows, visit: Visit) -> None:
    number = {"number": visit.number}
    rows["tickets"].append(
        {
            **number, "card_key": visit.serial, "card": visit.model, "serial": visit.serial,
            "technician": visit.technician, "opened_utc": visit.opened, "no_fix": False,
            "simulated": False, "closed_utc": visit.out,
        }
    )  # fmt: skip
    for row, (at, what, places) in enumerate(visit.repairs):
        rows["repairs"].append({**number, "row": row, "what": what, "done_utc": at})
        for place in places:
            rows["contacts"].append(
                {**number, "place": place, "damage": "", "repair_row": row}
            )
    for place, damage in visit.damage:
        rows["contacts"].append({**number, "place": place, "damage": damage})
    for kind in ("opened", *("seen" for _ in visit.damage)):
        rows["ticket_events"].append({**number, "kind": kind, "at_utc": visit.opened})
    if visit.out is not None:
        rows["ticket_events"].append({**number, "kind": "closed", "at_utc": visit.out})
        rows["handovers"].append({**number, "row": 0, "verdict": "pass", "at_utc": visit.out})


def _run(rows: Rows, visit: Visit, place: int) -> None:
    run = visit.runs[place]
    key = f"{visit.number}/{place}"
    rows["runs"].append(
        {
            "run_key": key, "run_id": f"{visit.number}/run-{place + 1}",
            "card_key": visit.serial, "card_told": True,
            "bench_key": run.bench, "of_real_card": True, "started_utc": run.at,
            "card_name": visit.model, "card_serial": visit.serial, "profile_name": "desktop_air",
            "ticket_number": visit.number, "verdict": "pass" if run.passed else "fail",
        }
    )  # fmt: skip
    elapsed_s = 0.0
    line = 0
    for number, (kind, passed, minutes) in enumerate(run.stages, start=1):
        stage = f"{number}-{kind}"
        rows["stages"].append(
            {
                "run_key": key, "stage": stage, "kind": kind, "taken_over": False,
                "verdict": "pass" if passed else "fail", "started_s": elapsed_s,
                "ended_s": elapsed_s + 60.0 * minutes,
            }
        )  # fmt: skip
        elapsed_s += 60.0 * minutes
        for name, value in run.readings.get(kind, {}).items():
            low = value.at_least is not None and value.number < value.at_least
            high = value.at_most is not None and value.number > value.at_most
            rows["readings"].append(
                {
                    "run_key": key, "row": line, "stage": stage, "reading": name,
                    "value": repr(value.number), "value_number": value.number,
                    "value_kind": "number", "unit": value.unit,
                    "lower_limit": value.at_least, "upper_limit": value.at_most,
                    "verdict": "fail" if low or high else "pass", "required": True,
                    "time_utc": run.at + timedelta(seconds=elapsed_s),
                }
            )  # fmt: skip
            line += 1
    if run.warned:
        rows["events"].append({"run_key": key, "row": 0, "event": "WarningGiven", "stage": ""})
