"""Holds every lock that a writer of a folder could hold: `hold_lock.py FOLDER SECONDS`.

Takes whole-file locks (flock and POSIX) on the folder and each of its files, says `held`, sleeps:
as a writer that somebody stopped in the middle of its work.
"""

import fcntl
import os
import sys
import time
from pathlib import Path


def main() -> None:
    """Hold."""
    folder, seconds = Path(sys.argv[1]), float(sys.argv[2])
    for place in [folder, folder.parent, *folder.iterdir()]:
        number = os.open(place, os.O_RDONLY if place.is_dir() else os.O_RDWR)
        fcntl.flock(number, fcntl.LOCK_EX)
        if not place.is_dir():
            fcntl.lockf(number, fcntl.LOCK_EX)
    print("held", flush=True)
    time.sleep(seconds)


if __name__ == "__main__":
    main()
