"""The outside programs that build a stick: which Debian package brings each; how they are run."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Mapping, Sequence
from pathlib import Path

from burnin.core.errors import BadInput
from burnin.stick.refusals import StickRefusal

PACKAGE_OF: Mapping[str, str] = {
    "mmdebstrap": "mmdebstrap",
    "apt-get": "apt",
    "dpkg-deb": "dpkg",
    "unshare": "util-linux",
    "chroot": "coreutils",
    "tar": "tar",
    "mksquashfs": "squashfs-tools",
    "veritysetup": "cryptsetup-bin",
    "mkfs.vfat": "dosfstools",
    "mcopy": "mtools",
    "mmd": "mtools",
    "mke2fs": "e2fsprogs",
    "grub-mkimage": "grub-common",
}
_LAST_CHARACTERS = 400


def need_tools() -> None:
    """Raise BadInput for the first program that is not there, with the package that brings it."""
    for tool, package in PACKAGE_OF.items():
        if shutil.which(tool) is None:
            raise BadInput(StickRefusal.TOOL_MISSING(tool=tool, package=package))


def carry_out(
    words: Sequence[str | Path],
    *,
    folder: Path | None = None,
    surroundings: Mapping[str, str] | None = None,
) -> str:
    """Run a program to its end and give what it printed; raises BadInput where it failed."""
    tool = str(words[0])
    path = shutil.which(tool)
    if path is None:
        raise BadInput(
            StickRefusal.TOOL_MISSING(tool=tool, package=PACKAGE_OF.get(tool, tool))
        )
    ended = subprocess.run(
        [path, *map(str, words[1:])],
        cwd=folder,
        env=surroundings,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        check=False,
    )
    if ended.returncode:
        said = (ended.stderr or ended.stdout).decode("utf-8", "replace").strip()
        last = " / ".join(said[-_LAST_CHARACTERS:].split("\n"))
        raise BadInput(
            StickRefusal.TOOL_FAILED(tool=tool, status=ended.returncode, last=last)
        )
    return ended.stdout.decode("utf-8", "replace")
