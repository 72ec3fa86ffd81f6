"""A disk of its own for the results, as an emulated drive shows it."""

from __future__ import annotations

import fcntl
import os
import subprocess
from pathlib import Path

from tests.kernel.guest.saying import module, tell_kernel

DEVICE = "vda"
MOUNTED = Path("/run/disk")
_FREEZE, _THAW = 0xC0045877, 0xC0045878  # FIFREEZE, FITHAW of linux/fs.h


def fresh(system: str = "ext4") -> Path:
    """The drive, made anew and mounted."""
    there(system)
    force = {"ext4": ["-q", "-F"], "xfs": ["-q", "-f"], "vfat": []}[system]
    subprocess.run(
        [f"mkfs.{system}", *force, f"/dev/{DEVICE}"],
        env={**os.environ, "LD_LIBRARY_PATH": os.environ["TOOL_LIBRARIES"]},
        stdout=subprocess.DEVNULL,
        check=True,
    )
    return mounted(system, "errors=remount-ro" if system == "ext4" else "")


def there(system: str) -> None:
    """Load what drives and this file system need."""
    for name in ("virtio_blk", system, *(("nls_cp437", "nls_ascii") if system == "vfat" else ())):
        assert module(name), name


def mounted(system: str, options: str = "") -> Path:
    """The drive mounted; raises CalledProcessError."""
    MOUNTED.mkdir(exist_ok=True)
    given = ["-o", options] if options else []
    command = ["busybox", "mount", "-t", system, *given, f"/dev/{DEVICE}", str(MOUNTED)]
    subprocess.run(command, check=True)
    return MOUNTED


def unmounted() -> None:
    """Take it off again."""
    subprocess.run(["busybox", "umount", str(MOUNTED)], check=False)


def error_found() -> None:
    """The file system comes upon damage, and lets nobody write any more (ext4, sysfs-fs-ext4)."""
    tell_kernel(f"/sys/fs/ext4/{DEVICE}/trigger_fs_error", "damage")


def freeze(on: bool) -> None:
    """Every write waits from now on, or goes on."""
    handle = os.open(MOUNTED, os.O_RDONLY)
    try:
        fcntl.ioctl(handle, _FREEZE if on else _THAW, 0)
    finally:
        os.close(handle)
