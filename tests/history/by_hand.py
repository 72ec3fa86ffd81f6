"""The rows of every question worked out a second time, with pandas and plain loops.

Written from what each question says it asks, not from its expression; the same rows must come out.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pandas as pd

from burnin.history.answer import Asked
from burnin.history.opened import OpenHistory

Frame = pd.DataFrame
Row = dict[str, Any]


class Frames:
    """All tables of a store as data frames of real cards, or of the simulated machine."""

    def __init__(self, history: OpenHistory, *, simulated: bool = False) -> None:
        self._history, self._read = history, dict[str, list[Row]]()
        self.as_of = history.as_of
        self.runs = [r for r in self.all("runs") if bool(r["of_real_card"]) != simulated]
        self.tickets = [t for t in self.all("tickets") if bool(t["simulated"]) == simulated]

    def all(self, name: str) -> list[Row]:
        if name not in self._read:
            frame: Frame = self._history.connection.raw_sql(f'SELECT * FROM "{name}"').df()
            rows = frame.astype(object).where(frame.notna(), None).to_dict("records")
            self._read[name] = [{str(k): v for k, v in row.items()} for row in rows]
        return self._read[name]

    def runs_of(self, number: str) -> list[Row]:
        mine = [r for r in self.runs if r["ticket_number"] == number]
        return sorted(mine, key=lambda r: (r["started_utc"], r["run_key"]))

    def model(self, ticket: Row) -> str | None:
        named = [r["card_name"] for r in self.runs_of(ticket["number"]) if r["card_name"]]
        told: str | None = named[-1] if named else ticket["card"]
        return told

    def repairs(self, number: str) -> list[Row]:
        return [r for r in self.all("repairs") if r["number"] == number]


def deliveries(f: Frames) -> list[Row]:
    by_card: dict[str, list[Row]] = {}
    for ticket in f.tickets:
        by_card.setdefault(ticket["card_key"], []).append(ticket)
    found = []
    for card, tickets in by_card.items():
        numbers = [t["number"] for t in tickets]
        out = sorted(
            (h["at_utc"], h["number"]) for h in f.all("handovers")
            if h["number"] in numbers and h["verdict"] in ("pass", "conditional")
        )  # fmt: skip
        back = [t["opened_utc"] for t in tickets]
        back += [
            e["at_utc"] for e in f.all("ticket_events")
            if e["number"] in numbers and e["kind"] == "reopened"
        ]  # fmt: skip
        for place, (at, number) in enumerate(out):
            later = [moment for moment in back if moment > at]
            came = min(later) if later else None
            if place + 1 < len(out) and (came is None or came > out[place + 1][0]):
                continue  # it had not left the shop
            end = came if came is not None else pd.Timestamp(f.as_of)
            whole_s = end.floor("s") - at.floor("s")
            ticket = next(t for t in tickets if t["number"] == number)
            found.append(
                {"number": number, "card_key": card, "at_utc": at, "came_back": came is not None,
                 "watched_days": whole_s.total_seconds() / 86400.0, "ticket": ticket}
            )  # fmt: skip
    return [row for row in found if row["watched_days"] >= 0.0]


def last_run(f: Frames, row: Row) -> Row | None:
    before = [r for r in f.runs_of(row["number"]) if r["started_utc"] <= row["at_utc"]]
    if not before:
        return None
    newest = max(r["started_utc"] for r in before)
    return min((r for r in before if r["started_utc"] == newest), key=lambda r: r["run_key"])


def _of(row: Row, group: object) -> Row:
    names = ("number", "card_key", "at_utc", "watched_days", "came_back")
    return {**{name: row[name] for name in names}, "group": group}


def came_back(f: Frames, asked: Asked) -> list[Row]:
    found = []
    for row in deliveries(f):
        done = [r for r in f.repairs(row["number"]) if r["done_utc"] <= row["at_utc"]]
        if asked.by == "repair":
            groups: set[Any] = {r["what"] for r in done}
        elif asked.by == "contact":
            rows = {r["row"] for r in done}
            groups = {
                c["place"] for c in f.all("contacts")
                if c["number"] == row["number"] and c["repair_row"] in rows
            }  # fmt: skip
        elif asked.by in ("bench", "profile"):
            run = last_run(f, row)
            name = "bench_key" if asked.by == "bench" else "profile_name"
            groups = {run[name] if run else None}
        elif asked.by == "model":
            groups = {f.model(row["ticket"])}
        elif asked.by == "technician":
            groups = {row["ticket"]["technician"]}
        else:
            groups = {"all"}
        found += [_of(row, group) for group in groups]
    return found


def first_yield(f: Frames, asked: Asked) -> list[Row]:
    found = []
    for ticket in f.tickets:
        done = sorted(r["done_utc"] for r in f.repairs(ticket["number"]))
        runs = f.runs_of(ticket["number"])
        if done:
            runs = [r for r in runs if r["started_utc"] >= done[0]]
        if not runs:
            continue
        passed = [r["started_utc"] for r in runs if r["verdict"] == "pass"]
        groups = {
            "all": "all", "model": f.model(ticket), "bench": runs[0]["bench_key"],
            "profile": runs[0]["profile_name"], "technician": ticket["technician"],
        }  # fmt: skip
        found.append(
            {
                "number": ticket["number"], "group": groups[asked.by],
                "first_verdict": runs[0]["verdict"], "ever_passed": bool(passed),
                "repairs_before": sum(at <= passed[0] for at in done) if passed else 0,
            }
        )  # fmt: skip
    return found


def stage_finds(f: Frames, asked: Asked) -> list[Row]:
    keys = {r["run_key"] for r in f.runs}
    return [
        {"run_key": s["run_key"], "kind": s["kind"], "verdict": s["verdict"],
         "minutes": None if s["ended_s"] is None else (s["ended_s"] - s["started_s"]) / 60.0}
        for s in f.all("stages")
        if s["run_key"] in keys and not s["taken_over"] and s["kind"] != "whole_run"
        and s["verdict"] not in ("not measured", "incomplete")
    ]  # fmt: skip


def numbers(f: Frames) -> list[Row]:
    runs = {r["run_key"]: r for r in f.runs if r["card_name"] is not None}
    last: dict[tuple[str, str, str], Row] = {}
    for row in sorted(f.all("readings"), key=lambda r: r["row"]):
        if row["value_kind"] == "number" and row["run_key"] in runs:
            last[row["run_key"], row["stage"], row["reading"]] = row
    newest: dict[tuple[Any, ...], tuple[Row, Row]] = {}
    for row in last.values():
        run = runs[row["run_key"]]
        if math.isnan(float(row["value"])):
            continue
        key = (run["card_key"], run["bench_key"], row["stage"], row["reading"])
        there = newest.get(key)
        if there is None or _newer(run, there[1]):
            newest[key] = (row, run)
    return [
        {**row, "number": float(row["value"]), "run": run, "card_key": run["card_key"],
         "model": run["card_name"], "bench_key": run["bench_key"], "run_id": run["run_id"],
         "started_utc": run["started_utc"]}
        for row, run in newest.values()
    ]  # fmt: skip


def _newer(run: Row, there: Row) -> bool:
    if run["started_utc"] != there["started_utc"]:
        return bool(run["started_utc"] > there["started_utc"])
    return bool(run["run_key"] < there["run_key"])


def _only(row: Row, *names: str) -> Row:
    return {name: row[name] for name in names}


def drift(f: Frames, asked: Asked) -> list[Row]:
    names = ("bench_key", "model", "stage", "reading", "number", "started_utc", "run_key")
    return [
        _only(row, *names) for row in numbers(f)
        if row["bench_key"] != "" and row["verdict"] != "fail"
    ]  # fmt: skip


def known_good(f: Frames, asked: Asked) -> list[Row]:
    returned = {row["card_key"] for row in deliveries(f) if row["came_back"]}
    newest: dict[tuple[str, str, str], Row] = {}
    for row in numbers(f):
        if row["run"]["verdict"] != "pass" or row["verdict"] not in ("pass", None):
            continue
        key = (row["card_key"], row["stage"], row["reading"])
        if row["card_key"] not in returned and (
            key not in newest or _newer(row["run"], newest[key]["run"])
        ):
            newest[key] = row
    names = ("model", "stage", "reading", "unit", "number", "card_key")
    return [_only(row, *names) for row in newest.values()]


def contact_fails(f: Frames, asked: Asked) -> list[Row]:
    first = {r["number"]: r for r in first_yield(f, Asked(by="all"))}
    seen = {
        (c["number"], c["place"], c["damage"]) for c in f.all("contacts")
        if c["damage"] and c["number"] in first
    }  # fmt: skip
    return [
        {"number": number, "place": place, "damage": damage,
         "first_verdict": first[number]["first_verdict"]}
        for number, place, damage in seen
    ]  # fmt: skip


def outliers(f: Frames, asked: Asked) -> list[Row]:
    names = ("run_id", "run_key", "card_key", "model", "stage", "reading", "number")
    return [
        _only(row, *names) for row in numbers(f)
        if row["run"]["verdict"] == "pass" and row["verdict"] == "pass"
    ]  # fmt: skip


def card_life(f: Frames, asked: Asked) -> list[Row]:
    keys = {
        t["card_key"] for t in f.tickets if asked.card in (t["card_key"], t["number"], t["serial"])
    }
    keys |= {
        r["card_key"] for r in f.runs
        if asked.card in (r["card_key"], r["card_uuid"], r["ticket_number"])
    }  # fmt: skip
    mine = {t["number"] for t in f.tickets if t["card_key"] in keys}
    told = [
        (e["at_utc"], e["number"], e["kind"], "") for e in f.all("ticket_events")
        if e["number"] in mine
        and e["kind"] not in ("run_begun", "run_ended", "repaired", "handed_over")
    ]  # fmt: skip
    told += [
        (r["done_utc"], r["number"], "repaired", r["what"])
        for r in f.all("repairs") if r["number"] in mine
    ]  # fmt: skip
    told += [
        (r["started_utc"], r["ticket_number"], "run", r["verdict"])
        for r in f.runs if r["card_key"] in keys
    ]  # fmt: skip
    told += [
        (h["at_utc"], h["number"], "handed_over", h["verdict"])
        for h in f.all("handovers") if h["number"] in mine
    ]  # fmt: skip
    return [dict(zip(("at_utc", "number", "what", "detail"), one, strict=True)) for one in told]


def owed_when(f: Frames, asked: Asked) -> list[Row]:
    found = []
    for ticket in f.tickets:
        if ticket["closed_utc"] is not None or ticket["no_fix"]:
            continue
        runs = f.runs_of(ticket["number"])
        owed: list[Row] = []
        if runs:
            owed = [o for o in f.all("owed") if o["run_key"] == runs[-1]["run_key"]]
        promised = ticket["promised_utc"]
        late = None
        if promised is not None:
            late = (pd.Timestamp(f.as_of).floor("s") - promised.floor("s")) / pd.Timedelta(days=1)
        names = ("row", "what", "what_data", "reason", "reason_data")
        for one in owed or [dict.fromkeys(names)]:
            found.append(
                {"number": ticket["number"], "model": f.model(ticket), "promised_utc": promised,
                 "late_days": late, **_only(one, *names)}
            )  # fmt: skip
    return found


def own_doubts(f: Frames, asked: Asked) -> list[Row]:
    warned = {e["run_key"] for e in f.all("events") if e["event"] == "WarningGiven"}
    near = set()
    for row in f.all("readings"):
        if row["value_kind"] != "number" or row["verdict"] != "pass" or not row["required"]:
            continue
        low, high, value = row["lower_limit"], row["upper_limit"], float(row["value"])
        if row["unit"] in ("", "lanes", "GT/s", "bytes") or (low is not None and low == high):
            continue
        close_above = high is not None and high != 0.0 and high - value < 0.05 * abs(high)
        close_below = low is not None and low != 0.0 and value - low < 0.05 * abs(low)
        if close_above or close_below:
            near.add(row["run_key"])
    found = []
    for row in deliveries(f):
        run = last_run(f, row)
        if run is None:
            continue
        if run["verdict"] == "conditional":
            group = "conditional"
        elif run["verdict"] != "pass":
            group = "other"
        elif run["run_key"] in warned:
            group = "pass_with_warning"
        else:
            group = "pass_with_low_margin" if run["run_key"] in near else "plain_pass"
        found.append(_of(row, group))
    return found


BY_HAND: dict[str, Callable[[Frames, Asked], list[Row]]] = {
    "came-back": came_back,
    "yield": first_yield,
    "stages": stage_finds,
    "drift": drift,
    "good": known_good,
    "contacts": contact_fails,
    "life": card_life,
    "outliers": outliers,
    "owed": owed_when,
    "doubts": own_doubts,
}
