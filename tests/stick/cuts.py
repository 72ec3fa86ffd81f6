"""What a cut of the power left of a stick: its journal mounted elsewhere, every record read.

``python -m tests.stick.cuts JOURNAL RECORDS`` with images of both partitions, as root on Linux; it
works on a copy. The guarantee: the journal's file system is whole after its own log was played
back, every record in it is read by the one reader, and the records partition is clean, as it is
mounted at a run's end alone.
"""

from __future__ import annotations

import argparse
import json
import shutil
import subprocess
import tempfile
from pathlib import Path

from burnin.core.errors import BurninError
from burnin.record.reader import read_record


def looked_at(journal: Path, records: Path) -> dict[str, object]:
    """Whether both file systems are whole, and what each record in the journal says."""
    with tempfile.TemporaryDirectory() as name:
        copied, place = Path(name) / "journal.img", Path(name) / "there"
        shutil.copy(journal, copied)
        place.mkdir()
        subprocess.run(["mount", "-o", "loop", str(copied), str(place)], check=True)
        try:
            found = {str(run.parent.name): _record(run.parent) for run in place.rglob("run.json")}
        finally:
            subprocess.run(["umount", str(place)], check=True)
        whole = subprocess.run(["e2fsck", "-fn", str(copied)], capture_output=True, check=False)
    clean = subprocess.run(["fsck.fat", "-n", str(records)], capture_output=True, check=False)
    return {
        "journal_whole": whole.returncode == 0,
        "records_clean": clean.returncode == 0,
        "records": found,
    }


def _record(folder: Path) -> str:
    try:
        record = read_record(folder)
        samples = sum(1 for _ in record.samples())
    except BurninError as error:
        return f"NOT READ: {error.told}"
    verdict = record.run.verdict
    return f"{verdict} {len(record.readings)} readings {samples} samples"


def main() -> None:
    """Print what is found, a line a pair of images."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("images", type=Path, nargs="+")
    images = parser.parse_args().images
    for journal, records in zip(images[::2], images[1::2], strict=True):
        print(journal.name, json.dumps(looked_at(journal, records), default=str), flush=True)


if __name__ == "__main__":
    main()
