"""Drives after a cut of the power: looked at by fsck, read, and the run gone on with."""

from __future__ import annotations

import os
import subprocess
import traceback
from pathlib import Path

from burnin.core.errors import BurninError
from burnin.record.reader import Record, read_record
from burnin.run.resume import plan_again
from burnin.run.session import carry_out_with_sinks
from tests.faults.used_events import held, used
from tests.kernel.guest import disk
from tests.kernel.guest.cut_run import SYSTEM
from tests.kernel.guest.saying import OUT, say, text

_CHECKS = {
    "ext4": ("e2fsck", "-f", "-n"),
    "xfs": ("xfs_repair", "-n"),
    "vfat": ("fsck.vfat", "-a", "-w"),
}
_MENDED = {"ext4": (0,), "xfs": (0,), "vfat": (0, 1)}
"""Exit codes that say: sound, or mended (e2fsck(8), xfs_repair(8), fsck.fat(8))."""


def carry_out() -> None:
    """One drive after the other, as many as there are lists of used rows."""
    system = os.environ[SYSTEM]
    disk.there(system)
    say("boot", boot_id=text("/proc/sys/kernel/random/boot_id"))
    for number, listed in enumerate(sorted(OUT.glob("used-*"))):
        disk.DEVICE = f"vd{chr(ord('a') + number)}"
        try:
            _one(listed, system)
        except BaseException:
            say("raised", step=listed.name, traceback=traceback.format_exc())
        finally:
            disk.unmounted()


def _one(listed: Path, system: str) -> None:
    mended_first = system != "vfat" and _played_back(system)
    checked = _checked(*_CHECKS[system])
    root = disk.mounted(system)
    must = used(listed)
    told: dict[str, object] = {
        "name": listed.name,
        "fsck": checked.returncode or mended_first,
        "sound": checked.returncode in _MENDED[system],
        "fsck_says": (checked.stdout + checked.stderr)[-400:],
        "used": sum(must.values()),
    }
    folders = list(root.glob("*/*/run.json"))
    if not folders:
        say("after_cut", **told, record=False)
        return
    folder = folders[0].parent
    try:
        record = read_record(folder)
    except BurninError as error:
        say("after_cut", **told, record=False, error=str(error))
        return
    lost = must - held(record)
    told |= {"lost": sorted(lost)[:20], "lost_rows": sum(lost.values())}
    told |= {"lost_s": _last_s(must) - _last_held_s(record)}
    told["ended_before"] = record.run.ended
    try:
        verdict: object = carry_out_with_sinks(plan_again(folder)).verdict
    except BurninError as error:
        verdict, told["not_gone_on"] = record.run.verdict, str(error)
    again = read_record(folder)
    told["lost_after"] = sum((must - held(again)).values())
    condition = again.condition
    told["unsound"] = [*condition.edited, *condition.disagrees, *condition.damaged]
    say("after_cut", **told, record=True, verdict=verdict)


def _played_back(system: str) -> bool:
    """A mount plays the journal back, and nothing else may be wrong then; whether it took fsck.

    Where a write of 4 KiB was torn between sectors of 512 bytes the superblock may fit its sum no
    more: ext4 then refuses to be mounted and asks for e2fsck, which a person would start.
    """
    try:
        disk.mounted(system)
    except subprocess.CalledProcessError:
        if system != "ext4":
            raise
        told = _checked("e2fsck", "-f", "-y")
        say("fsck_first", device=disk.DEVICE, code=told.returncode, told=told.stdout[-300:])
        return True
    disk.unmounted()
    return False


def _checked(*command: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [*command, f"/dev/{disk.DEVICE}"],
        env={**os.environ, "LD_LIBRARY_PATH": os.environ["TOOL_LIBRARIES"]},
        capture_output=True,
        text=True,
        check=False,
    )


def _last_s(rows: object) -> float:
    return max((float(row[2]) for row in rows if row[0] == "sample"), default=0.0)  # type: ignore


def _last_held_s(record: Record) -> float:
    return max((sample.elapsed_s for sample in record.samples()), default=0.0)
