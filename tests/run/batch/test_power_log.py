"""What each card was counted at stands row by row; a simulated batch says so there too."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from burnin.core.clock import WallClock
from burnin.run.batch.power_log import PowerLog


@pytest.mark.parametrize("simulated", [True, False])
def test_rows_follow_each_other_also_where_a_batch_goes_on(simulated: bool, tmp_path: Path) -> None:
    path = tmp_path / "b.power.csv"
    for at_s in (1.0, 2.0):
        log = PowerLog(path, WallClock(), 400.0, pytest.fail, simulated=simulated)
        log(at_s, "0000:01:00.0", "given", 136.5)
        log.close()
    with path.open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert [(row["at_s"], row["what"], row["counted_w"]) for row in rows] == [
        ("1.000", "given", "136.5"), ("2.000", "given", "136.5")
    ]  # fmt: skip
    assert [row.get("SIMULATED") for row in rows] == ["" if simulated else None] * 2


def test_a_disk_that_takes_nothing_is_told_once_and_ends_nothing() -> None:
    broken: list[str] = []
    log = PowerLog(Path("/dev/full"), WallClock(), None, broken.append)
    for _ in range(3):
        log(1.0, "0000:01:00.0", "given", 136.5)
    log.close()
    assert len(broken) == 1
