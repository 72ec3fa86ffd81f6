"""Runs a command while chosen calls on chosen files fail: `failing.py [options] -- COMMAND…`.

Prints a line `fault: …` where no call ever failed, so that a case that tests nothing is seen.
"""

import argparse
import errno
import os
import subprocess
import sys
import tempfile
from pathlib import Path

SHIM = Path(__file__).parent / "shim.c"


def main() -> int:
    """Compile the shim, run the command with it, end as the command ended."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--call", required=True,
                       choices=("write", "fsync", "fdatasync", "rename", "open"))
    asked.add_argument("--file", required=True, help="part of the path")
    asked.add_argument("--nth", type=int, default=1)
    asked.add_argument("--times", type=int, default=0, help="0: all from then on")
    asked.add_argument("--error", default="short", help="EIO, ENOSPC …; short: half is written")
    asked.add_argument("command", nargs="+")
    given = asked.parse_args()
    with tempfile.TemporaryDirectory(prefix="shim_") as made:
        library = Path(made) / "shim.so"
        subprocess.run(["cc", "-shared", "-fPIC", "-O1", "-o", str(library), str(SHIM), "-ldl"],
                       check=True)
        number = 0 if given.error == "short" else getattr(errno, given.error)
        env = os.environ | {
            "LD_PRELOAD": str(library), "FAULT_CALL": given.call, "FAULT_FILE": given.file,
            "FAULT_NTH": str(given.nth), "FAULT_TIMES": str(given.times),
            "FAULT_ERRNO": str(number), "FAULT_MARK": str(Path(made) / "failed")}
        code = subprocess.run(given.command, env=env, check=False).returncode
        if not (Path(made) / "failed").exists():
            print('fault: {"sent": false}', file=sys.stderr)
        return code


if __name__ == "__main__":
    sys.exit(main())
