"""The samples of a run: one Parquet file each, beside the database, whole and never thinned.

Who wants to draw them asks for as many rows as fit; of each span the row with the highest
temperature is kept, so that no peak is lost.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable, Iterator
from itertools import islice
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq

from burnin.core.files.disk import PASSING, sync_folder
from burnin.core.files.private_files import private_folder
from burnin.history.columns import row_of
from burnin.history.rows import UNFIT, arrow, arrow_schema
from burnin.history.tables import SAMPLES
from burnin.record.schema.tables import Row

_AT_ONCE = 10_000
PEAK = "gpu_temp_c"


def sample_file(folder: Path, run_key: str) -> Path:
    """Where the samples of a run lie."""
    return folder / "samples" / run_key[:2] / f"{run_key}.parquet"


def write_samples(
    folder: Path, run_key: str, rows: Iterable[Row], file: str, file_sha256: str
) -> Path:
    """Write a run's samples beside the store, under a passing name of this place's own.

    On disk, wholly, once this returns; `put_in_place` gives it its name. Raises OSError, or one of
    `rows.UNFIT` for a value that fits no column.
    """
    path = sample_file(folder, run_key)
    private_folder(path.parent)
    of_place = hashlib.sha256(file.encode()).hexdigest()[:12]
    passing = path.with_name(f"{path.stem}.{of_place}{PASSING}")
    start: dict[str, object] = {"run_key": run_key, "file": file, "file_sha256": file_sha256}
    numbered = enumerate(rows)
    try:
        with pq.ParquetWriter(passing, arrow_schema(SAMPLES), compression="zstd") as writer:
            while part := list(islice(numbered, _AT_ONCE)):
                cells = [{**start, "row": n, **row_of(row, SAMPLES.leaves)[0]} for n, row in part]
                writer.write_table(arrow(SAMPLES, cells))
    except UNFIT:
        passing.unlink()
        raise
    handle = os.open(passing, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
    return passing


def put_in_place(passing: Iterable[Path]) -> None:
    """Give files of samples their names; on disk once this returns."""
    folders = set()
    for path in passing:
        path.replace(path.with_name(f"{path.name.partition('.')[0]}.parquet"))
        folders.add(path.parent)
    for folder in folders:
        sync_folder(folder)


def left_behind(folder: Path) -> Iterator[Path]:
    """Files of samples that a sync which was killed had not yet put in their place."""
    return (folder / "samples").glob(f"*/*{PASSING}")


def forget_samples(folder: Path, run_key: str) -> None:
    """Take away the samples of a run that is no more in the store."""
    sample_file(folder, run_key).unlink(missing_ok=True)


def samples(folder: Path, run_key: str, most_rows: int = 0) -> pa.Table:
    """The samples of a run; `most_rows` 0: all of them. Raises FileNotFoundError."""
    whole = pq.read_table(sample_file(folder, run_key))
    return whole if not 0 < most_rows < whole.num_rows else _thinned(whole, most_rows)


def _thinned(whole: pa.Table, most_rows: int) -> pa.Table:
    heat: list[Any] = whole.column(PEAK).to_pylist()
    return whole.take(list(_peaks(heat, most_rows)))


def _peaks(heat: list[float | None], most_rows: int) -> Iterator[int]:
    """The place of the highest value in each of so many spans; of its first row where none is."""
    count = len(heat)
    for span in range(most_rows):
        begin, end = span * count // most_rows, (span + 1) * count // most_rows
        yield max(range(begin, end), key=lambda n: (h if (h := heat[n]) is not None else -1e9, -n))
