"""Readings of many records, asked for where they lie: no import step, the folders are the truth.

With DuckDB at hand (the extra `history`) it reads all CSV files in one query; without it they are
read one by one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from importlib.util import find_spec
from pathlib import Path

from burnin.record.rows import read_rows

Key = tuple[str, str]
"""Stage (such as ``4-memory``) and name of a reading."""


def numbers_of(folder: Path) -> dict[Key, tuple[float, str]]:
    """Last measured number and unit of each reading of one record."""
    found: dict[Key, tuple[float, str]] = {}
    for row in read_rows(folder / "readings.csv"):
        value = _finite(row.get("value", ""))
        if value is not None:
            found[row.get("stage", ""), row.get("reading", "")] = (value, row.get("unit", ""))
    return found


def numbers_of_all(folders: Sequence[Path]) -> dict[Key, list[float]]:
    """Numbers of each reading over several records, one from each that measured it."""
    tables = [f / "readings.csv" for f in folders if (f / "readings.csv").is_file()]
    if tables and find_spec("duckdb") is not None:
        return _queried(tables)
    found: dict[Key, list[float]] = {}
    for table in tables:
        for key, (value, _) in numbers_of(table.parent).items():
            found.setdefault(key, []).append(value)
    return found


def _queried(tables: Sequence[Path]) -> dict[Key, list[float]]:
    import duckdb

    with duckdb.connect(":memory:") as engine:
        engine.execute("SET autoinstall_known_extensions = false")
        rows = engine.execute(
            """
            WITH line AS (
              SELECT filename, stage, reading, TRY_CAST(value AS DOUBLE) AS number,
                     COALESCE(TRY_CAST(elapsed_s AS DOUBLE), 0.0) AS elapsed_s
              FROM read_csv($files, header = true, all_varchar = true, filename = true,
                            union_by_name = true, ignore_errors = true, delim = ',', quote = '"')
            )
            SELECT stage, reading, arg_max(number, elapsed_s) AS number
            FROM line WHERE number IS NOT NULL AND isfinite(number)
            GROUP BY filename, stage, reading
            """,
            {"files": [str(table) for table in tables]},
        ).fetchall()
    found: dict[Key, list[float]] = {}
    for stage, reading, number in rows:
        found.setdefault((stage, reading), []).append(number)
    return found


def _finite(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) else None
