"""Edits the newest record under a folder, as a person with a text editor could.

`python edit_record.py FOLDER [--run CODE] [--rows FILE CODE] [--drop FILE TEST] [--cut FILE BYTES]
[--seal]`: CODE changes `run` (the contents of run.json) or `row` (one row of a CSV file, by
column); TEST says which rows go; BYTES are cut off a file's end; `--seal` writes the SHA-256 list
anew. Prints the record's folder.
"""

import argparse
import csv
import hashlib
import io
import json
from pathlib import Path
from typing import Any


def newest_record(where: Path) -> Path:
    """Folder of the newest record at or below `where`; by the time its run.json was changed."""
    found = sorted(where.rglob("run.json"), key=lambda path: path.stat().st_mtime)
    if not found:
        raise SystemExit(f"no record below {where}")
    return found[-1].parent


def edit_run(folder: Path, code: str) -> None:
    """Carry out `code` on the contents of run.json, named `run`."""
    file = folder / "run.json"
    run: dict[str, Any] = json.loads(file.read_text("utf-8"))
    exec(code, {"run": run})
    file.write_text(json.dumps(run, indent=1, ensure_ascii=False) + "\n", "utf-8")


def edit_rows(file: Path, code: str) -> None:
    """Carry out `code` on each row of a CSV file, named `row`."""
    _rewrite(file, [_changed(row, code) for row in _rows(file)])


def drop_rows(file: Path, test: str) -> None:
    """Leave out each row of a CSV file for which `test` holds."""
    _rewrite(file, [row for row in _rows(file) if not eval(test, {"row": row})])


def cut(file: Path, length: int) -> None:
    """Take `length` bytes off the end of a file."""
    file.write_bytes(file.read_bytes()[:-length])


def seal(folder: Path) -> None:
    """Write the SHA-256 of every file that checksums.sha256 lists anew."""
    listed = folder / "checksums.sha256"
    names = [line.split("  ", 1)[1] for line in listed.read_text("utf-8").splitlines()]
    lines = [f"{hashlib.sha256((folder / name).read_bytes()).hexdigest()}  {name}\n"
             for name in names]
    listed.write_text("".join(lines), "utf-8")


def _changed(row: dict[str, str], code: str) -> dict[str, str]:
    exec(code, {"row": row})
    return row


def _rows(file: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(file.read_text("utf-8"))))


def _rewrite(file: Path, rows: list[dict[str, str]]) -> None:
    names = file.read_text("utf-8").splitlines()[0].split(",")
    out = io.StringIO()
    writer = csv.DictWriter(out, names, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    file.write_text(out.getvalue(), "utf-8")


def main() -> None:
    """Edit as the arguments say."""
    asked = argparse.ArgumentParser()
    asked.add_argument("folder", type=Path)
    asked.add_argument("--run", action="append", default=[])
    asked.add_argument("--rows", nargs=2, action="append", default=[])
    asked.add_argument("--drop", nargs=2, action="append", default=[])
    asked.add_argument("--cut", nargs=2, action="append", default=[])
    asked.add_argument("--seal", action="store_true")
    given = asked.parse_args()
    folder = newest_record(given.folder)
    for code in given.run:
        edit_run(folder, code)
    for name, code in given.rows:
        edit_rows(folder / name, code)
    for name, test in given.drop:
        drop_rows(folder / name, test)
    for name, length in given.cut:
        cut(folder / name, int(length))
    if given.seal:
        seal(folder)
    print(folder)


if __name__ == "__main__":
    main()
