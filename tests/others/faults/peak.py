"""Whether one record's hottest sample lies within so many kelvin of another's.

`peak.py COLUMN HONEST OTHER KELVIN`: exit code 1 where the other was hotter by more.
"""

import csv
import math
import sys
from pathlib import Path


def main() -> int:
    """Compare."""
    column, honest, other, kelvin = sys.argv[1:]
    peaks = [_peak(Path(folder), column) for folder in (honest, other)]
    print(f"peak of {column}: honest {peaks[0]:g}, here {peaks[1]:g}")
    return int(not peaks[1] <= peaks[0] + float(kelvin))


def _peak(folder: Path, column: str) -> float:
    with (folder / "samples.csv").open(encoding="utf-8") as file:
        values = [float(row[column]) for row in csv.DictReader(file) if row[column]]
    return max((value for value in values if math.isfinite(value)), default=math.nan)


if __name__ == "__main__":
    sys.exit(main())
