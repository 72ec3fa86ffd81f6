"""A run on the simulated machine at its own pace, its results on the drive whose power is cut.

A row is put on the list outside only after the record's writer has returned: what is on the list
was used. The kind of file system comes through the environment.
"""

from __future__ import annotations

import os

from burnin.profile.loader import load_profile
from burnin.record.reader import read_record
from burnin.run.bench import Options
from burnin.run.session import run_profile
from tests.faults.used_events import keep_used
from tests.kernel.guest import disk
from tests.kernel.guest.run_there import PROFILES
from tests.kernel.guest.saying import OUT, say, text

SYSTEM = "CUT_SYSTEM"
USED = "used"


def carry_out() -> None:
    """Make the file system, begin, and go on to the end where nobody takes the power away."""
    results = disk.fresh(os.environ[SYSTEM])
    os.sync()
    say("mounted", system=os.environ[SYSTEM], boot_id=text("/proc/sys/kernel/random/boot_id"))
    keep_used(OUT / USED)
    outcome = run_profile(
        load_profile(str(PROFILES / "cut.toml")),
        options=Options(simulated="healthy_x8", pace=1.0),
        results=results,
    )
    record = read_record(outcome.folder)
    say("whole", verdict=outcome.verdict, samples=len(list(record.samples())))
    disk.unmounted()
