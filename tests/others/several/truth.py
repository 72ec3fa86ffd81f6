"""Prints what records and batches below `results` say, without a word of the tool's own reader.

`card ADDRESS word WORD record VERDICT readings-failed N rows N` for each card of each batch (the
newest last), `stages ADDRESS kind…` with each stage as often as the journal says that it began,
`unearned …` for each word that its record does not bear out, `most_w W` over any second.
"""

from __future__ import annotations

import csv
import json
import sys
from collections import Counter
from datetime import datetime
from pathlib import Path
from typing import Any

RESTS_W = 10.0


def main(results: Path) -> None:
    """Print it."""
    for file in sorted(results.glob("batches/*.json")):
        try:
            batch = json.loads(file.read_text("utf-8"))
        except ValueError:
            print(f"batch {file.name} unreadable")
            continue
        print(f"batch {len(batch['cards'])} cards, ended {bool(batch.get('ended_utc'))}")
        for card in batch["cards"]:
            _card(results, card)
    records = [f.parent for f in results.glob("*/*/run.json")]
    print(f"records {len(records)}")
    seconds = sums_w(records)
    print(f"most_w {max(seconds, default=0.0):.1f}")
    rises = (then - now for now, then in zip(seconds, seconds[20:], strict=False))
    print(f"rises_w {max(rises, default=0.0):.1f}")
    given = Counter(_begun(r) for r in records)
    print("runs", " ".join(f"{address}*{count}" for address, count in sorted(given.items())))


def _card(results: Path, card: dict[str, Any]) -> None:
    folder = results / card["record"] if card.get("record") else None
    run: dict[str, Any] = {}
    if folder is not None and (folder / "run.json").is_file():
        try:
            run = json.loads((folder / "run.json").read_text("utf-8"))
        except ValueError:
            print(f"record {card['address']} unreadable")
    word, verdict = card.get("word") or "none", str(run.get("verdict") or "none")
    failed = sum(row["verdict"] == "fail" for row in _rows(folder, "readings.csv"))
    rows = len(_rows(folder, "samples.csv"))
    stages = Counter(
        row["stage"].partition("-")[2]
        for row in _rows(folder, "journal.csv")
        if row["event"] == "StageStarted"
    )
    print(f"card {card['address']} word {word} record {verdict} failed {failed} rows {rows > 0}")
    print(f"stages {card['address']}", " ".join(f"{k}*{n}" for k, n in stages.items()))
    of = (run.get("card") or {}).get("address", card["address"])
    if word == "pass" and (verdict != "pass" or failed or of != card["address"]):
        print(f"unearned {card['address']}: {word} on a record of {of} that says {verdict}")


def _rows(folder: Path | None, name: str) -> list[dict[str, str]]:
    if folder is None or not (folder / name).is_file():
        return []
    with (folder / name).open(encoding="utf-8", newline="") as rows:
        return [row for row in csv.DictReader(rows) if None not in row.values()]


def _begun(record: Path) -> str:
    try:
        return str(json.loads((record / "run.json").read_text("utf-8"))["card"]["address"])
    except (ValueError, KeyError, TypeError):
        return "unreadable"


def sums_w(records: list[Path]) -> list[float]:
    """What all cards draw together over each second, twenty a second, as their samples tell."""
    told = {r: [(_s(x["time_utc"]), float(x["power_w"])) for x in _rows(r, "samples.csv")
                if x["power_w"]] for r in records}  # fmt: skip
    told = {r: rows for r, rows in told.items() if rows}
    if not told:
        return []
    begin = min(rows[0][0] for rows in told.values())
    end = max(rows[-1][0] for rows in told.values())
    slots = [0.0] * (int((end - begin) * 20) + 2)
    for rows in told.values():
        own = [RESTS_W] * len(slots)
        for (at, watts), (then, _) in zip(rows, [*rows[1:], (rows[-1][0] + 0.1, 0.0)], strict=True):
            first = int((at - begin) * 20)
            last = int((min(then, at + 0.5) - begin) * 20)
            last = max(last, first + 1)
            own[first:last] = [watts] * (last - first)
        slots = [have + add for have, add in zip(slots, own, strict=False)]
    return [sum(slots[i : i + 20]) / 20 for i in range(max(len(slots) - 20, 1))]


def _s(utc: str) -> float:
    return datetime.fromisoformat(utc).timestamp()


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "results"))
