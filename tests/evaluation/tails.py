"""Does what a step's end tells of the rise still to come hold? `python -m tests.evaluation.tails`

Every stretch of an even load in every real recording, cut short after 30, 34, … seconds: what
`burnin.stages.thermal_ramp.tail` then says, beside what the card did until the stretch's own end.
Files given by name are looked at in place of those of the repository.
"""

from __future__ import annotations

import csv
import gzip
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path

from burnin.stages.thermal_ramp.tail import tail_of

DATA = Path(__file__).parents[1] / "data"
DIE_S, FROM_S, EVERY_S, LEAST_LEFT_S = 10.0, 30, 4, 5
SENSOR_STEP_K = 1.0


@dataclass(frozen=True)
class Told:
    """One cut: what was told (None: that nothing can be told) and what came."""

    file: str
    after_s: int
    left_k: float | None
    u_k: float
    came_k: float

    @property
    def kept(self) -> bool:
        """A stretch may end before all has risen, so only too large a rise breaks the word."""
        return self.left_k is None or self.came_k <= self.left_k + self.u_k


def recordings() -> list[Path]:
    """The real recordings of the repository."""
    found = [*DATA.glob("new_hosts/*.gz"), *DATA.glob("whole_runs/*.gz")]
    return sorted([*found, *DATA.glob("records/*/samples.csv")])


def stretches(file: Path) -> Iterator[list[tuple[float, float]]]:
    """(elapsed_s, °C) of each stretch of one load of a quarter share or more."""
    with gzip.open(file, "rt") if file.suffix == ".gz" else file.open() as table:
        rows = list(csv.DictReader(line for line in table if not line.startswith("#")))

    def load(row: dict[str, str]) -> tuple[str, str, str] | None:
        share = float(row.get("load_share") or 0.0)
        watts = row.get("load_w") or ""
        works = share >= 0.25 or watts
        return (row.get("stage") or "", "" if watts else f"{share:.2f}", watts) if works else None

    for key, group in groupby(rows, load):
        points = []
        for row in group:
            try:
                points.append((float(row["elapsed_s"]), float(row["gpu_temp_c"])))
            except ValueError:
                continue
        if key is not None and points:
            yield points


def told(file: Path) -> Iterator[Told]:
    """Every cut of every stretch of a recording."""
    for points in stretches(file):
        begin_s = points[0][0] + DIE_S
        cooler = [(t, v) for t, v in points if t >= begin_s]
        last_s = int(points[-1][0] - begin_s) - LEAST_LEFT_S
        ends_c = [v for t, v in points if t >= points[-1][0] - 2.0]
        for after_s in range(FROM_S, last_s, EVERY_S):
            seen = [(t, v) for t, v in cooler if t <= begin_s + after_s]
            tail = tail_of(seen, min(60.0, after_s / 2), SENSOR_STEP_K)
            if tail is not None:
                came_k = sum(ends_c) / len(ends_c) - tail.now_c
                yield Told(file.name, after_s, tail.left_k, tail.left_u_k, came_k)


def main() -> int:
    """Print the sums and every word that was not kept."""
    files = [Path(name) for name in sys.argv[1:]] or recordings()
    all_told = [one for file in files for one in told(file)]
    said = [one for one in all_told if one.left_k is not None]
    wide_k = sum(one.u_k for one in said) / max(1, len(said))
    kept = sum(one.kept for one in said)
    print(f"{kept} of {len(said)} kept, mean uncertainty {wide_k:.2f} K; "
          f"{len(all_told) - len(said)} times nothing told")  # fmt: skip
    for one in said:
        if not one.kept:
            print("  ", one)
    return 0


if __name__ == "__main__":
    sys.exit(main())
