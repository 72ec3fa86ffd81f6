"""Processor time of a replayed file: `python -m tests.benchmarks.replay_speed [--files 40]`.

Files are windows of 300 s, 10 rows a second, from the real records that are long enough; they are
led past the guards in this process, one after the other, as `burnin replay --json` does it.
"""

from __future__ import annotations

import argparse
import io
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from burnin.cli.replay_lines import replay
from tests.evaluation.variations import records

LENGTH_S = 300.0
HEAD = "# limit_c = 85\n# cooling = stream\n"


def windows(count: int) -> Iterator[tuple[str, str]]:
    """Name and text of each window, as many from each record that is long enough."""
    long = {
        name: rows
        for name, rows in records().items()
        if rows.time_s.iloc[-1] - rows.time_s.iloc[0] > LENGTH_S
    }
    each = -(-count // len(long))
    for name, rows in long.items():
        first_s, last_s = float(rows.time_s.iloc[0]), float(rows.time_s.iloc[-1]) - LENGTH_S
        for begin_s in np.linspace(first_s, last_s, each):
            part = rows[(rows.time_s >= begin_s) & (rows.time_s < begin_s + LENGTH_S)]
            yield f"{name}_{begin_s:.0f}", HEAD + part.to_csv(index=False)


def main() -> None:
    """Print the processor time a file, and what a thousand would take on two cores."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--files", type=int, default=40)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        files = []
        for name, text in list(windows(given.files))[: given.files]:
            files.append(str(Path(folder) / f"{name}.csv"))
            Path(files[-1]).write_text(text)
        replay(files[:1], None, True, io.StringIO())
        begun_s = time.process_time()
        for file in files:  # one at a time stays in this process
            replay([file], None, True, io.StringIO())
        each_s = (time.process_time() - begun_s) / len(files)
    print(f"{len(files)} files, {each_s:.3f} s of a core each")
    print(f"1,000 on 2 cores: {500 * each_s:.0f} s")


if __name__ == "__main__":
    main()
