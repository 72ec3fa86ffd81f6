"""Trees of sysfs: empty, huge, binary files, files that vanish, ``config`` that gives EIO."""

from __future__ import annotations

import errno
import tempfile
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from random import Random

from burnin.card.files import HostFiles
from burnin.card.kernel_log.log import open_kernel_log
from burnin.card.sources.linux_card import LinuxBench, LinuxCard
from burnin.core.errors import NoCard
from burnin.core.reading import NotMeasured
from tests.card.edid_bytes import base_block
from tests.card.sysfs_tree import CARD, corvane_bench
from tests.fuzz.mutators import mutate_bytes
from tests.fuzz.target import Files, Target

_FAILS = b"\0fails "
"""An entry that begins so fails with the error number that follows, after so many good reads."""
_HUGE = b"\0huge"
_ERRORS = (
    *(errno.ENOENT, errno.EIO, errno.EACCES, errno.ENODEV, errno.EINVAL, errno.EISDIR),
    *(errno.ELOOP, errno.ENOTDIR, errno.ETIMEDOUT, errno.EBUSY, errno.ENOMEM, errno.EMFILE, 9999),
)


class HostileFiles:
    """A bench's files, some of which were replaced, fail, never end, or vanish after some reads."""

    def __init__(self, base: HostFiles, over: Files) -> None:
        self._base, self._over = base, over
        self._reads: dict[str, int] = {}

    def read_bytes(self, path: str, limit: int = 1 << 20) -> bytes:
        real = self._real(path)
        told = self._over.get(real, self._over.get(path))
        if told is None:
            return self._base.read_bytes(path, limit)
        if told.startswith(_FAILS):
            self._count(real, told)
            return self._base.read_bytes(path, limit)
        if told == _HUGE:
            return b"7" * limit
        return told[:limit]

    def list_folder(self, path: str) -> list[str]:
        real = self._real(path)
        told = self._over.get(f"{real}/")
        if told is None:
            return self._base.list_folder(path)
        if told.startswith(_FAILS):
            self._count(f"{real}/", told)
            return self._base.list_folder(path)
        if told == _HUGE:
            return [f"0000:{n >> 8:02x}:{n & 31:02x}.0" for n in range(3000)]
        names = told.decode("utf-8", "replace").replace("\0", "").replace("/", "").split("\n")
        return sorted(name for name in names if name)

    def resolve(self, path: str) -> str:
        told = self._over.get(f"@{path}")
        if told is None:
            return self._base.resolve(path)
        if told.startswith(_FAILS):
            self._count(path, told)
            return self._base.resolve(path)
        return told.decode("utf-8", "replace").replace("\0", "")

    def _real(self, path: str) -> str:
        try:
            return self._base.resolve(path)
        except (OSError, ValueError):
            return path

    def _count(self, path: str, told: bytes) -> None:
        number, _, good = told.removeprefix(_FAILS).partition(b" ")
        self._reads[path] = self._reads.get(path, 0) + 1
        if self._reads[path] > int(good or 0):
            raise OSError(int(number), "as asked", path)


@cache
def _base() -> tuple[HostFiles, tempfile.TemporaryDirectory[str], tuple[str, ...]]:
    """The usual tree, written once; with it the paths that an input may replace."""
    place = tempfile.TemporaryDirectory(prefix="burnin-tree-")
    tree = corvane_bench(Path(place.name))
    folder = "/sys/devices/pci0000:00/0000:00:01.0/0000:01:00.0"
    space = (Path(__file__).parents[2] / "data" / "config_space.bin").read_bytes()
    tree.write(f"{folder}/config", space)
    tree.write("/sys/devices/pci0000:00/0000:00:01.0/config", space)
    for name in ("aer_dev_correctable", "aer_dev_nonfatal", "aer_dev_fatal"):
        tree.write(f"{folder}/{name}", "RxErr 0\nBadTLP 3\nTOTAL_ERR_COR 3")
    tree.write(f"{folder}/pp_dpm_sclk", "0: 500Mhz\n1: 2105Mhz *")
    tree.drm(folder, 0, DP_1={"status": "connected", "edid": base_block(), "modes": "1920x1080"})
    tree.write("/etc/os-release", 'PRETTY_NAME="Bench Linux 1"')
    tree.write("/etc/machine-id", "0123456789abcdef0123456789abcdef")
    tree.write("/proc/cpuinfo", "model name : Some processor")
    tree.write("/proc/meminfo", "MemTotal:       32000000 kB")
    tree.write("/proc/sys/kernel/osrelease", "6.12.0")
    tree.write("/proc/sys/kernel/random/boot_id", "b1")
    tree.write("/usr/share/misc/pci.ids", "f5a7  Corvane\n\t0901  Strata 9")
    tree.write("/proc/77/fdinfo/5", f"drm-pdev: {CARD}\ndrm-engine-gfx: 100 ns\ndrm-client-id: 3")
    root = Path(place.name)
    paths = []
    for path in sorted(root.rglob("*")):
        shown = "/" + path.relative_to(root).as_posix()
        if path.is_symlink():
            paths.append(f"@{shown}")
        elif path.is_dir():
            paths.append(f"{shown}/")
        else:
            paths.append(shown)
    return HostFiles(root), place, tuple(paths)


def _seeds(room: Path) -> Sequence[Files]:
    folder = "/sys/devices/pci0000:00/0000:00:01.0/0000:01:00.0"
    return [
        {f"{folder}/config": _FAILS + b"5"},
        {f"{folder}/config": b"\xff" * 4096},
        {f"{folder}/": _FAILS + b"2"},
        {"/sys/bus/pci/devices/": b""},
        {"/sys/bus/pci/devices/": _HUGE},
        {f"{folder}/hwmon/hwmon3/temp1_input": _FAILS + b"5 2"},
        {f"{folder}/current_link_width": b"\0\xff" * 2000},
        {f"@/sys/bus/pci/devices/{CARD}": b"/"},
    ]


def _changed(rng: Random, data: bytes, others: Sequence[bytes]) -> bytes:
    way = rng.randrange(6)
    if way == 0:
        good = rng.choice((0, 0, 1, 2, 5))
        return _FAILS + b"%d %d" % (rng.choice(_ERRORS), good)
    if way == 1:
        return rng.choice((_HUGE, b"", b"-1", b"4294967295", b"0xffff", b"9" * 25, b"\0" * 64))
    return mutate_bytes(rng, b"" if data.startswith(_FAILS) else data, others)


class _Tree(Target):
    """Inputs replace some of the tree's entries; a change may replace one more."""

    def mutated(self, rng: Random, input_: Files, others: Sequence[Files]) -> Files:  # noqa: ARG002
        files, (base, _, paths) = dict(input_), _base()
        for _ in range(rng.choice((1, 1, 2, 4))):
            if rng.random() < 0.6 or not files:
                name = rng.choice(paths)
            else:
                name = rng.choice(sorted(files))
            now = files.get(name)
            files[name] = _changed(rng, self._now(base, name) if now is None else now, ())
        while len(files) > 12:
            del files[rng.choice(sorted(files))]
        return files

    def _now(self, base: HostFiles, name: str) -> bytes:
        try:
            if name.endswith("/"):
                return "\n".join(base.list_folder(name)).encode()
            if name.startswith("@"):
                return base.resolve(name[1:]).encode()
            return base.read_bytes(name)
        except OSError:
            return b""


def _read(room: Path, given: Files) -> None:
    files = HostileFiles(_base()[0], given)
    bench = LinuxBench(files)
    bench.description()
    open_kernel_log(files, this_machine=False)
    cards = bench.cards()
    for card in cards[:2]:
        _ask(card)
    if not cards:
        raise NoCard("none")


def _ask(card: LinuxCard) -> None:
    """Everything that a card can be asked."""
    card.present()
    for name in (
        *("identity", "windows", "vendor_id", "free_memory_bytes", "memory_errors"),
        *("configuration_space", "link", "position", "error_counters", "outputs", "telemetry"),
        *("telemetry", "sources", "resolution", "temperature_limits", "ratings"),
    ):
        getattr(card, name)()
    card.process_use(77)
    for end in ("card", "port"):
        space = card.configuration_space_at(end)
        if not isinstance(space, NotMeasured):
            space.link()
            space.errors()
            space.lane_margining()


TARGETS = (_Tree("sysfs_tree", _seeds, _read, in_room=False),)
