"""A run on the simulated machine at its own pace, its results on the drive whose power is cut.

A row is put on the list outside only after the record's writer has returned: what is on the list
was used. The kind of file system comes through the environment, and, where the kernel shall crash,
after how many rows.
"""

from __future__ import annotations

import os
import threading
import time
from pathlib import Path

from burnin.profile.loader import load_profile
from burnin.record.reader import read_record
from burnin.run.bench import Options
from burnin.run.session import run_profile
from tests.faults.used_events import keep_used
from tests.kernel.guest import disk
from tests.kernel.guest.run_there import PROFILES
from tests.kernel.guest.saying import OUT, say, text

SYSTEM, CRASH_AFTER = "CUT_SYSTEM", "CRASH_AFTER_ROWS"
USED = "used"


def carry_out() -> None:
    """Make the file system, begin, and go on to the end where nobody takes the power away."""
    results = disk.fresh(os.environ[SYSTEM])
    os.sync()
    say("mounted", system=os.environ[SYSTEM], boot_id=text("/proc/sys/kernel/random/boot_id"))
    keep_used(OUT / USED)
    if CRASH_AFTER in os.environ:
        threading.Thread(target=_crash, args=(int(os.environ[CRASH_AFTER]),), daemon=True).start()
    outcome = run_profile(
        load_profile(str(PROFILES / "cut.toml")),
        options=Options(simulated="healthy_x8", pace=1.0),
        results=results,
    )
    record = read_record(outcome.folder)
    say("whole", verdict=outcome.verdict, samples=len(list(record.samples())))
    disk.unmounted()


def _crash(after_rows: int) -> None:
    """The kernel stops where it stands (Documentation/admin-guide/sysrq.rst, `c`)."""
    listed = OUT / USED
    while not listed.exists() or listed.read_bytes().count(b"\n") < after_rows:
        time.sleep(0.02)
    Path("/proc/sysrq-trigger").write_text("c")
