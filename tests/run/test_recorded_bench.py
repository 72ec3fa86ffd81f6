"""A host with two compute cards, copied by `burnin record-bench`, and what a run read there.

`tests/data/benches/two_compute_cards/read_there.json` holds the enumeration readings of the runs on
the two cards themselves, made right after the copy (2026-11-26; driver 580.159.04).
"""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from burnin.core.verdict import RunVerdict
from burnin.run.bench import Options
from burnin.run.session import run_profile

BENCH = Path(__file__).parents[1] / "data/benches/two_compute_cards"
THERE = json.loads((BENCH / "read_there.json").read_text("utf-8"))
PROFILE = """
format = 1
title = "Identity alone"

[guards]
gpu_temp_limit_c = 85.0

[[stages]]
stage = "enumeration"
class_codes = ["0x0302", "0x0380", "0x1200"]
"""


@pytest.mark.parametrize("address", sorted(THERE))
def test_the_copy_is_read_as_the_cards_were(address: str, tmp_path: Path) -> None:
    profile = tmp_path / "identity.toml"
    profile.write_text(PROFILE, "utf-8")
    outcome = run_profile(
        str(profile),
        options=Options(simulated=str(BENCH), address=address),
        results=tmp_path / "results",
    )
    with (outcome.folder / "readings.csv").open(encoding="utf-8") as table:
        rows = [row for row in csv.DictReader(table) if row["stage"] == "1-enumeration"]
    told = THERE[address]
    assert {row["reading"]: {key: row[key] for key in told[row["reading"]]} for row in rows} == told
    assert outcome.verdict is RunVerdict.PASS
