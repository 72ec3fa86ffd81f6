"""Cuts of the power: a run is recorded write by write, cut anywhere, booted again and gone on with.

``python -m tests.kernel.power_cuts --count 60 --file-system ext4``
"""

from __future__ import annotations

import argparse
import json
import random
import shutil
import tempfile
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from burnin.run.bench import Options
from burnin.run.session import run_profile
from tests.kernel.emulator import Bench, cut, last_words, run_to_its_end, start
from tests.kernel.guest.cut_run import CRASH_AFTER, SYSTEM, USED
from tests.kernel.kernels import Kernel, kernel
from tests.kernel.one_boot import HERE, Told, program, read
from tests.kernel.packages import STABLE
from tests.kernel.written_log import Cut, cut_image, entries, entries_count

SIZE_BYTES = {"ext4": 64 << 20, "xfs": 320 << 20, "vfat": 64 << 20}
"""Of the drive; xfs wants 300 MiB at least (mkfs.xfs(8))."""
A_BOOT = 10
"""Drives that are looked at in one start of the bench."""
_LONGEST_S = 900.0


@dataclass(frozen=True)
class Recorded:
    """A run whose writes are in `log`; `progress`: entries of the log, and the bytes of the list
    of used rows that were there before it had so many."""

    out: Path
    log: Path
    size: int
    progress: tuple[tuple[int, int], ...]

    def used_before(self, at: int) -> bytes:
        """The list of rows that had been used, surely, when the log had `at` entries."""
        known = max((used for count, used in self.progress if count <= at), default=0)
        whole = (self.out / USED).read_bytes()[:known]
        return whole[: whole.rfind(b"\n") + 1]

    def first(self) -> int:
        """The first entry after which a row had been used."""
        return min(count for count, used in self.progress if used)


def record(of: Kernel, system: str, folder: Path) -> Recorded:
    """Carry out a run whose drive is logged; it goes on to its end."""
    out, size = folder / "recorded", SIZE_BYTES[system]
    out.mkdir(parents=True)
    drive, log = folder / "drive", folder / "log"
    _sparse(drive, size)
    _sparse(log, 4 << 30)
    blocks = (
        f"driver=file,filename={drive},node-name=medium",
        f"driver=file,filename={log},node-name=log",
        "driver=blklogwrites,file=medium,log=log,log-sector-size=512,"
        "log-super-update-interval=1,node-name=logged",
    )
    bench = Bench(
        of,
        out,
        program("cut_run"),
        HERE,
        devices=("virtio-blk-pci,drive=logged",),
        drives=[word for block in blocks for word in ("-blockdev", block)],
        environment=((SYSTEM, system),),
    )
    progress: list[tuple[int, int]] = []
    over = threading.Event()
    watcher = threading.Thread(target=_follow, args=(out / USED, log, progress, over))
    watcher.start()
    try:
        run_to_its_end(bench, _LONGEST_S)
    finally:
        over.set()
        watcher.join()
    return Recorded(out, log, size, tuple(progress))


def _follow(
    listed: Path, log: Path, progress: list[tuple[int, int]], over: threading.Event
) -> None:
    """First how many rows were used, then how many writes there are: never too many rows."""
    while not over.is_set():
        used = listed.stat().st_size if listed.exists() else 0
        progress.append((entries_count(log), used))
        time.sleep(0.005)


def cuts(of: Kernel, system: str, count: int, seed: int, folder: Path) -> list[Told]:
    """So many cuts of one recorded run, each booted again and gone on with."""
    draw = random.Random(seed)
    recorded = record(of, system, folder)
    whole = next(line for line in read(recorded.out) if line["check"] == "whole")
    written = list(entries(recorded.log))
    moments = [[w.number for w in written], [w.number for w in written if w.flushes]]
    begun = recorded.first()
    moments = [[at for at in some if at >= begun] for some in moments]
    found: list[Told] = []
    for first in range(0, count, A_BOOT):
        out = folder / f"again-{first}"
        out.mkdir()
        made = [
            # anywhere, and just before a flush, when most is in flight
            _cut(recorded, out, number, draw.choice(moments[number % 2]), draw)
            for number in range(min(A_BOOT, count - first))
        ]
        found += _gone_on(of, system, out, made, whole["verdict"])
        for image in out.glob("drive-*"):
            image.unlink()
    return found


def _cut(recorded: Recorded, out: Path, number: int, at: int, draw: random.Random) -> Cut:
    (out / f"used-{number}").write_bytes(recorded.used_before(at))
    return cut_image(recorded.log, out / f"drive-{number}", recorded.size, at, draw)


def crashed(of: Kernel, system: str, after_rows: int, by_kernel: bool, folder: Path) -> Told:
    """A run that ends with its bench, and what the next start finds on the drive as it is.

    `by_kernel`: the kernel crashes (sysrq) and starts anew; else the emulator is killed. What the
    guest had flushed is on the image then; what it kept in its own memory is gone.
    """
    out, again = folder / "crashed", folder / "started-anew"
    out.mkdir(parents=True)
    again.mkdir()
    drive = again / "drive-0"
    _sparse(drive, SIZE_BYTES[system])
    told = ((SYSTEM, system), *(((CRASH_AFTER, str(after_rows)),) if by_kernel else ()))
    bench = Bench(
        of, out, program("cut_run"), HERE, devices=(), environment=told,
        drives=("-drive", f"file={drive},format=raw,if=virtio"),
    )  # fmt: skip
    process = start(bench)
    listed, end_s = out / USED, time.monotonic() + _LONGEST_S
    while process.poll() is None and time.monotonic() < end_s:
        rows = listed.read_bytes().count(b"\n") if listed.exists() else 0
        if rows >= after_rows and not by_kernel:
            break
        time.sleep(0.02)
    cut(process)
    if (out / "ended").exists() or not listed.exists():
        raise RuntimeError(f"the run was not cut short\n{last_words(bench)}")
    whole = listed.read_bytes()
    (again / "used-0").write_bytes(whole[: whole.rfind(b"\n") + 1])
    boot_id = next(line for line in read(out) if line["check"] == "mounted")["boot_id"]
    (after,) = _gone_on(of, system, again, [Cut(0, 0, 0)], _whole_verdict(folder))
    return {
        **after,
        "boots": {boot_id, *(line["boot_id"] for line in read(again) if "boot_id" in line)},
    }


def _whole_verdict(folder: Path) -> str:
    """Of the same run on this machine, as fast as it goes: what is simulated is the same."""
    wish = Options(simulated="healthy_x8")
    profile = str(HERE / "tests/kernel/profiles/cut.toml")
    return run_profile(profile, options=wish, results=folder / "whole").verdict.value


def _gone_on(of: Kernel, system: str, out: Path, made: Sequence[Cut], verdict: str) -> list[Told]:
    drives = [
        word
        for number in range(len(made))
        for word in ("-drive", f"file={out / f'drive-{number}'},format=raw,if=virtio")
    ]
    bench = Bench(
        of, out, program("cut_resumed"), HERE, devices=(), drives=drives,
        environment=((SYSTEM, system),),
    )  # fmt: skip
    run_to_its_end(bench, _LONGEST_S)
    lines = read(out)
    raised = [line["traceback"] for line in lines if line["check"] == "raised"]
    after = {line["name"]: line for line in lines if line["check"] == "after_cut"}
    if len(after) < len(made):
        told = ["the bench did not look at all drives", *raised, last_words(bench)]
        raise RuntimeError("\n".join(told))
    return [
        {
            **after[f"used-{number}"],
            "at": cut.at,
            "open": cut.open_writes,
            "kept": cut.kept,
            "whole_verdict": verdict,
        }
        for number, cut in enumerate(made)
    ]


def sound(told: Told) -> bool:
    """Whether a cut cost nothing that was used: rows, verdict, file system."""
    if not told.get("sound"):
        return False
    if not told["record"]:
        return not told["used"]
    kept = not told["lost_rows"] and not told["lost_after"] and not told["unsound"]
    return bool(kept and told["verdict"] == told["whole_verdict"])


def summary(system: str, found: Sequence[Told]) -> str:
    """One line: how many cuts, what was lost, what fsck said."""
    lost_s = max((t.get("lost_s", 0.0) for t in found if t.get("lost_rows")), default=0.0)
    mended = sum(bool(t.get("fsck")) for t in found)
    lost = sum(bool(t.get("lost_rows")) for t in found)
    verdicts = sum(t.get("verdict") == t["whole_verdict"] for t in found)
    unflushed = sum(t["open"] for t in found) / max(1, len(found))
    return (
        f"{len(found)} cuts on {system}: {sum(map(sound, found))} sound, {verdicts} with the same"
        f" verdict, {lost} lost rows that were used (at most {lost_s:.2f} s of them),"
        f" {mended} file systems mended by fsck, {unflushed:.1f} writes in flight on average"
    )


def _sparse(file: Path, size: int) -> None:
    with file.open("wb") as image:
        image.truncate(size)


def main() -> None:
    """Make the cuts that are asked for; print those that are not sound, and the sum."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--count", type=int, default=3)
    asked.add_argument("--file-system", choices=sorted(SIZE_BYTES), default="ext4")
    asked.add_argument("--seed", type=int, default=1)
    wish = asked.parse_args()
    folder = Path(tempfile.mkdtemp(prefix="power-cuts-"))
    try:
        found = cuts(kernel(STABLE), wish.file_system, wish.count, wish.seed, folder)
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    for told in found:
        if not sound(told):
            print(json.dumps(told))
    print(summary(wish.file_system, found))


if __name__ == "__main__":
    main()
