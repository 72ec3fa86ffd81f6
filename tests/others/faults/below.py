"""Whether every number of a column of a record's samples lies within bounds; exit code 1: not.

`below.py COLUMN HIGHEST RECORD [--from LOWEST]`
"""

import csv
import sys
from pathlib import Path


def main() -> int:
    """Look."""
    column, highest, folder = sys.argv[1:4]
    lowest = float(sys.argv[5]) if len(sys.argv) > 5 else float("-inf")
    with (Path(folder) / "samples.csv").open(encoding="utf-8") as file:
        values = [float(row[column]) for row in csv.DictReader(file) if row[column]]
    outside = [value for value in values if not lowest <= value <= float(highest)]
    print(f"{column}: {len(outside)} of {len(values)} outside", *outside[:3])
    return int(bool(outside))


if __name__ == "__main__":
    sys.exit(main())
